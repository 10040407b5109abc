"""The text of a version's commit: readable with plain ``git log``, and read back without loss.

    tram-fog@7: exposure +0.35 → +0.50 EV          subject: what changed, in words

    - exposure +0.35 → +0.50 EV                    every change, in words
    - shadows colder: split.low hue 240° → 255°

        for the wet mornings of the east side      the note, indented by four spaces

    Recipe: tram-fog                               trailers, as git interpret-trailers reads them
    Version: tram-fog@7
    Kind: version
    Derived-from: tram-fog@6
    Changes: [{"field":"exposure.ev","from":0.35,"to":0.5,"unit":"EV"}]

The note is indented, so none of its lines can end the message (``---``), pass for a trailer or be taken
for a comment; control characters become their visible pictures. The trailers are always the last
paragraph, and each stands on one line.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from typing import Any

from driftline.errors import LedgerError

MAX_NOTE = 16 * 1024
SUBJECT_WIDTH = 100

_INDENT = "    "
_BREAKS = re.compile(r"[\x00-\x1f\x7f]+")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")

Trailers = Sequence[tuple[str, str]]


def compose(title: str, words: Sequence[str], note: str, trailers: Trailers) -> str:
    """Write the message of a commit.

    Parameters
    ----------
    title
        What was done (``tram-fog@7``); the first changes are put after it.
    words
        Every change in words.
    note
        The photographer's own words; see :func:`clean_note` for what becomes of odd characters.
    trailers
        Keys and values; an empty value is left out.
    """
    blocks, note = [_subject(_one_line(title), words)], clean_note(note)
    if words:
        blocks.append("\n".join(f"- {_one_line(word)}" for word in words))
    if note:
        blocks.append("\n".join(_INDENT + line if line else "" for line in note.split("\n")))
    blocks.append("\n".join(f"{key}: {_one_line(value)}" for key, value in trailers if value))
    return "\n\n".join(blocks) + "\n"


def _subject(title: str, words: Sequence[str]) -> str:
    subject = title
    for place, word in enumerate(words):
        longer = subject + (": " if place == 0 else "; ") + _one_line(word)
        if len(longer) > SUBJECT_WIDTH and place:
            return f"{subject}; and {len(words) - place} more"
        subject = longer
    return subject


def clean_note(note: str) -> str:
    """A note as it is kept: line ends made equal, control characters made visible, outer blank lines cut.

    Raises
    ------
    LedgerError
        ``note-too-long`` beyond 16 KB.

    Examples
    --------
    >>> clean_note("wet morning\\r\\n---\\x00 ")
    'wet morning\\n---␀'
    """
    text = note.replace("\r\n", "\n").replace("\r", "\n").encode("utf-8", "replace").decode("utf-8")
    text = _CONTROL.sub(lambda found: chr(0x2400 + ord(found[0])) if found[0] != "\x7f" else "␡", text)
    lines = [line.rstrip() for line in text.split("\n")]
    text = "\n".join(lines).strip("\n")
    if len(text.encode()) > MAX_NOTE:
        raise LedgerError(
            "note-too-long",
            f"the note has {len(text.encode())} bytes; allowed {MAX_NOTE}",
            hint="a shorter note; longer thoughts fit into the recipe's comments",
        )
    return text


def _one_line(text: str) -> str:
    return _BREAKS.sub(" ", text).strip()


class Message:
    """A commit's message, taken apart when asked."""

    def __init__(self, text: str) -> None:
        self.text = text

    @cached_property
    def _parts(self) -> tuple[str, str]:
        body, _, last = self.text.rstrip("\n").rpartition("\n\n")
        return body, last

    def first(self, key: str) -> str:
        """The value of a trailer, empty if it is not there."""
        return next(self._values(key), "")

    def every(self, key: str) -> tuple[str, ...]:
        """All values of a trailer, in order."""
        return tuple(self._values(key))

    def _values(self, key: str) -> Iterator[str]:
        """Searched for, not split into lines: a history asks two thousand messages for three keys each."""
        last, wanted = "\n" + self._parts[1], f"\n{key}: "
        place = last.find(wanted)
        while place >= 0:
            start = place + len(wanted)
            end = last.find("\n", start)
            yield last[start:] if end < 0 else last[start:end]
            place = last.find(wanted, start)

    @property
    def subject(self) -> str:
        """The first line."""
        return self._parts[0].partition("\n")[0]

    @property
    def words(self) -> tuple[str, ...]:
        """The changes in words."""
        body = self._parts[0]
        if "\n- " not in body:
            return ()
        return tuple(line[2:] for line in body.split("\n")[1:] if line.startswith("- "))

    @property
    def note(self) -> str:
        """The note."""
        body = self._parts[0]
        if f"\n{_INDENT}" not in body:
            return ""
        lines = body.split("\n")[1:]
        kept = [line.removeprefix(_INDENT) for line in lines if line.startswith(_INDENT) or not line]
        return "\n".join(kept).strip("\n")


def to_json(value: Any) -> str:
    """A value as compact JSON on one line; nothing for None.

    Raises
    ------
    LedgerError
        ``bad-drift`` for what JSON cannot hold (numbers that are not finite among them).
    """
    if value is None:
        return ""
    try:
        return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    except (TypeError, ValueError) as error:
        raise LedgerError(
            "bad-drift",
            f"cannot be kept with a version: {error}",
            hint="numbers, texts, lists and mappings; null for what cannot be compared",
        ) from error


def from_json(text: str) -> Any:
    """What :func:`to_json` wrote; None for nothing or for what someone else wrote there."""
    try:
        return json.loads(text) if text else None
    except ValueError:
        return None


def from_json_mapping(text: str) -> Mapping[str, Any] | None:
    """Like :func:`from_json`, None unless it is a mapping."""
    value = from_json(text)
    return value if isinstance(value, dict) else None
