"""What commands print: plain words on standard output, remarks on standard error, or one JSON document."""

from __future__ import annotations

import io
import json
import os
import sys
import unicodedata
from collections.abc import Iterable
from typing import Any, TextIO


def any_text() -> None:
    """Let both outputs take any text: what a terminal cannot show is written as its number."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def document(value: Any, *, indent: int | None = 2) -> None:
    """Print one JSON document; a number that is none is a defect, and no JSON.

    Without indentation (None) it is written many times faster, for documents that nobody reads line by line.
    """
    text = json.dumps(value, ensure_ascii=False, indent=indent, allow_nan=False)
    try:
        text.encode(sys.stdout.encoding or "utf-8")
    except UnicodeEncodeError:
        text = json.dumps(value, indent=indent)
    _print(text, sys.stdout)


def lines(text: Iterable[str]) -> None:
    """Print lines, all at once; no lines print nothing."""
    told = "\n".join(shown(line) for line in text)
    if told:
        _print(told, sys.stdout)


def remark(text: str) -> None:
    """Print what the user should know but did not ask for, to standard error; nothing for no text."""
    if text:
        trouble(f"note: {text}")


def trouble(text: str) -> None:
    """Print to standard error."""
    for line in text.splitlines():
        _print(shown(line), sys.stderr)


def shown(text: str) -> str:
    r"""A text without characters that steer a terminal: a ledger or a file name may come from anyone.

    Examples
    --------
    >>> shown("grey\x1b[2J day")
    'grey\\x1b[2J day'
    """
    if text.isprintable():
        return text
    return "".join(_named(character) if _steers(character) else character for character in text)


def _steers(character: str) -> bool:
    return unicodedata.category(character) in {"Cc", "Cf", "Cs", "Zl", "Zp"}


def _named(character: str) -> str:
    return character.encode("unicode_escape").decode()


def table(rows: Iterable[Iterable[str]], *, right: Iterable[int] = ()) -> list[str]:
    """Rows as aligned columns, two spaces apart.

    Examples
    --------
    >>> table([("cause", "edit"), ("white", "+12")], right=[1])
    ['cause  edit', 'white   +12']
    """
    cells = [list(row) for row in rows]
    if not cells:
        return []
    widths = [max(len(row[i]) for row in cells) for i in range(len(cells[0]))]
    to_right = set(right)
    return [
        "  ".join(
            cell.rjust(widths[i]) if i in to_right else cell.ljust(widths[i]) for i, cell in enumerate(row)
        ).rstrip()
        for row in cells
    ]


def count(number: int, thing: str) -> str:
    """A number of things.

    Examples
    --------
    >>> count(1, "print"), count(3, "print")
    ('1 print', '3 prints')
    """
    return f"{number} {thing}{'' if number == 1 else 's'}"


def when(iso: str) -> str:
    """A time as people read it.

    Examples
    --------
    >>> when("2026-11-25T09:12:30+01:00")
    '2026-11-25 09:12'
    """
    return iso[:16].replace("T", " ")


def _print(text: str, stream: TextIO) -> None:
    """Print a line; when nobody reads any more (``driftline history | head -3``), the rest is not missed."""
    try:
        print(text, file=stream, flush=True)
    except BrokenPipeError:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
