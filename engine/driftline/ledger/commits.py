"""Commits: read by the thousand, through one process of git."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta, timezone
from functools import lru_cache
from typing import NamedTuple

from driftline.ledger.plumbing import Object, Plumbing


class Commit(NamedTuple):
    """One commit: its id, its time on the saver's clock (ISO 8601 with zone), its message."""

    id: str
    when: str
    message: str


def ids_between(git: Plumbing, tip: str, known: str = "") -> list[str]:
    """Ids of the commits of `tip` that `known` does not have, oldest first: parents before children."""
    words = ["--topo-order", "--reverse", "--end-of-options", tip, *([f"^{known}"] if known else [])]
    return git.run("rev-list", *words).decode().split()


def read_objects(git: Plumbing, names: Sequence[str]) -> list[Object | None]:
    """The objects of these names (ids, references, ``COMMIT:path``), None for what is not there."""
    out = git.run("cat-file", "--batch", "--buffer", stdin="".join(f"{name}\n" for name in names).encode())
    found: list[Object | None] = []
    place = 0
    for _ in names:
        end = out.index(b"\n", place)
        header = out[place:end].split(b" ")
        place = end + 1
        if len(header) != 3 or not header[2].isdigit():
            found.append(None)
            continue
        stop = place + int(header[2])
        found.append(Object(header[0].decode(), header[1].decode(), out[place:stop]))
        place = stop + 1
    return found


def parse_commit(found: Object) -> Commit:
    """A commit from its object."""
    head, _, message = found.content.partition(b"\n\n")
    encoding, when = "utf-8", ""
    for line in head.split(b"\n"):
        if line.startswith(b"committer "):
            when = _iso(line)
        elif line.startswith(b"encoding "):
            encoding = line[9:].decode("ascii", "replace")
    try:
        return Commit(found.id, when, message.decode(encoding, "replace"))
    except LookupError:
        return Commit(found.id, when, message.decode("utf-8", "replace"))


def _iso(line: bytes) -> str:
    """The time at the end of a committer line: ``... 1764061768 +0100``."""
    try:
        _, seconds, zone = line.rsplit(b" ", 2)
        return datetime.fromtimestamp(int(seconds), _zone(zone)).isoformat()
    except (ValueError, OverflowError, OSError):
        return ""


@lru_cache(maxsize=64)
def _zone(text: bytes) -> timezone:
    minutes = int(text[1:3]) * 60 + int(text[3:5])
    return timezone(timedelta(minutes=-minutes if text.startswith(b"-") else minutes))
