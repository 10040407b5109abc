"""What the ledger knows of frames: with which version they were printed, and which were set aside.

A record holds the full fingerprint, and with it the size and the quick fingerprint of the file, so that a
frame that is in no record is found out without reading all of it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from driftline.batch.scan import Seen, at_once
from driftline.ledger import Ledger

SET_ASIDE = "set-aside"


@dataclass
class Recorded:
    """All records by frame.

    Attributes
    ----------
    printed
        The version that a frame was last printed with, by full fingerprint.
    aside
        Full fingerprints of the frames that are set aside.
    last
        The last version of each recipe.
    """

    printed: dict[str, str] = field(default_factory=dict)
    aside: set[str] = field(default_factory=set)
    last: dict[str, str] = field(default_factory=dict)
    _sizes: set[int] = field(default_factory=set)
    _quick: set[str] = field(default_factory=set)
    _full_alone: bool = False

    def take(self, line: dict[str, Any]) -> None:
        """Take in one line of the record."""
        fingerprint = str(line.get("frame", ""))
        if "ref" in line:
            self.printed[fingerprint] = str(line["ref"])
        elif line.get("state") == SET_ASIDE:
            self.aside.add(fingerprint)
        else:
            self.aside.discard(fingerprint)
        if isinstance(line.get("bytes"), int) and isinstance(line.get("quick"), str):
            self._sizes.add(line["bytes"])
            self._quick.add(line["quick"])
        else:
            self._full_alone = True

    def fingerprints(self, frames: Iterable[Seen]) -> None:
        """See to it that the full fingerprint is known of every frame that may be in a record."""
        if not self.printed and not self.aside:
            return
        unknown = [each for each in frames if each.row.full is None and not each.problem]
        if not self._full_alone:
            unknown = [each for each in unknown if each.row.size in self._sizes]
            at_once([each for each in unknown if each.row.quick is None], Seen.quick)
            unknown = [each for each in unknown if each.row.quick in self._quick]
        at_once(unknown, Seen.full)


def recorded(ledger: Ledger | None) -> Recorded:
    """What a ledger knows; without one, nothing."""
    found = Recorded()
    if ledger is not None:
        for record in ledger.printed():
            found.take(dict(record.line))
        found.last = ledger.last_versions()
    return found


def marks(path: Path, quick: str | None) -> dict[str, Any]:
    """What finds a frame again without reading all of it, as a record holds it; nothing if it is unknown."""
    try:
        return {"bytes": path.stat().st_size, "quick": quick} if quick else {}
    except OSError:
        return {}
