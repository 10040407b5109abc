"""What commands print: plain words on standard output, remarks on standard error, or one JSON document."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from typing import Any


def document(value: Any) -> None:
    """Print one JSON document."""
    print(json.dumps(value, ensure_ascii=False, indent=2))


def lines(text: Iterable[str]) -> None:
    """Print lines."""
    for line in text:
        print(line)


def remark(text: str) -> None:
    """Print what the user should know but did not ask for, to standard error; nothing for no text."""
    if text:
        print(f"note: {text}", file=sys.stderr)


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


def when(iso: str) -> str:
    """A time as people read it.

    Examples
    --------
    >>> when("2026-11-25T09:12:30+01:00")
    '2026-11-25 09:12'
    """
    return iso[:16].replace("T", " ")
