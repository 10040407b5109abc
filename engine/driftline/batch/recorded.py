"""What the ledger knows of frames: with which version they were printed, and which were set aside.

A record holds the full fingerprint, and with it the size and the quick fingerprint of the file, so that a
frame that is in no record is found out without reading all of it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, NamedTuple

from driftline.batch.index import Index
from driftline.batch.scan import Seen, at_once
from driftline.ledger import Ledger

SET_ASIDE: Final = "set-aside"
_NAME: Final = "record"


@dataclass
class Recorded:
    """All records by frame.

    Attributes
    ----------
    printed
        The version that a frame was last printed with, by full fingerprint.
    aside
        Full fingerprints of the frames that are set aside.
    sizes, quick
        Sizes and quick fingerprints of all these frames.
    full_alone
        Whether there is a record that has only the full fingerprint.
    last
        The last version of each recipe.
    """

    printed: dict[str, str] = field(default_factory=dict)
    aside: set[str] = field(default_factory=set)
    sizes: set[int] = field(default_factory=set)
    quick: set[str] = field(default_factory=set)
    full_alone: bool = False
    last: dict[str, str] = field(default_factory=dict)

    def take(self, line: Mapping[str, Any]) -> None:
        """Take in one line of the record."""
        fingerprint = str(line.get("frame", ""))
        if "ref" in line:
            self.printed[fingerprint] = str(line["ref"])
        elif line.get("state") == SET_ASIDE:
            self.aside.add(fingerprint)
        else:
            self.aside.discard(fingerprint)
        if isinstance(line.get("bytes"), int) and isinstance(line.get("quick"), str):
            self.sizes.add(line["bytes"])
            self.quick.add(line["quick"])
        else:
            self.full_alone = True

    def fingerprints(self, frames: Iterable[Seen]) -> None:
        """See to it that the full fingerprint is known of every frame that may be in a record."""
        if not self.printed and not self.aside:
            return
        unknown = [each for each in frames if each.row.full is None and not each.problem]
        if not self.full_alone:
            unknown = [each for each in unknown if each.row.size in self.sizes]
            at_once([each for each in unknown if each.row.quick is None], Seen.quick)
            unknown = [each for each in unknown if each.row.quick in self.quick]
        at_once(unknown, Seen.full)


class Asked(NamedTuple):
    """What is asked of git before anything else, and takes it a while."""

    state: str
    last: dict[str, str]


def ask(ledger: Ledger | None) -> Asked:
    """The state of a ledger's record, and the last versions of its recipes."""
    return Asked(ledger.record_state(), ledger.last_versions()) if ledger else Asked("", {})


def recorded(ledger: Ledger | None, asked: Asked, index: Index) -> Recorded:
    """What a ledger knows, out of the index if its record is still what was digested there."""
    if ledger is None or not asked.state:
        return Recorded(last=asked.last)
    found = _digested(index.recall(_NAME, asked.state))
    if found is None:
        found = Recorded()
        for record in ledger.printed():
            found.take(record.line)
        told = {"printed": found.printed, "full_alone": found.full_alone}
        lists = {"aside": sorted(found.aside), "sizes": sorted(found.sizes), "quick": sorted(found.quick)}
        index.remember(_NAME, asked.state, json.dumps({**told, **lists}))
    found.last = asked.last
    return found


def _digested(text: str | None) -> Recorded | None:
    if text is None:
        return None
    try:
        told = json.loads(text)
        return Recorded(
            printed=dict(told["printed"]),
            aside=set(told["aside"]),
            sizes=set(told["sizes"]),
            quick=set(told["quick"]),
            full_alone=bool(told["full_alone"]),
        )
    except (ValueError, TypeError, KeyError):  # somebody else wrote there
        return None


def marks(path: Path, quick: str | None) -> dict[str, Any]:
    """What finds a frame again without reading all of it, as a record holds it; nothing if it is unknown."""
    try:
        return {"bytes": path.stat().st_size, "quick": quick} if quick else {}
    except OSError:
        return {}
