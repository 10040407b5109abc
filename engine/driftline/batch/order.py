"""What a run is asked for, and what becomes of it: plain data, the same here and on another machine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict

from driftline.batch.summary import ByHand, Measured, Spread, by_hand, spread
from driftline.prints import Encoding, Making, Space


class Look(BaseModel):
    """A recipe as a run uses it: its text, and what the ledger calls that text."""

    model_config = ConfigDict(frozen=True)

    name: str
    text: str
    ref: str | None = None
    commit: str | None = None


class Form(BaseModel):
    """How the prints shall be: space, size, encoding, and what may be said in them."""

    model_config = ConfigDict(frozen=True)

    space: Space = "srgb"
    long_edge: int | None = None
    encoding: Encoding = "jpeg"
    quality: int = 92
    ceiling_bytes: int | None = None
    acutance: float = 0.0
    purpose: str | None = None
    keep_location: bool = False
    creator: str = ""
    rights: str = ""
    caption: str = ""
    recipe_in_print: bool = False
    name_parts: tuple[str, ...] = ("frame", "recipe", "version", "purpose", "size")


class Decoding(BaseModel):
    """What reading one raw file may cost."""

    model_config = ConfigDict(frozen=True)

    seconds: float = 60.0
    megabytes: int = 6144


class Job(BaseModel):
    """One print to be made: all that a worker must know."""

    model_config = ConfigDict(frozen=True)

    frame: Path
    target: Path
    look: Look
    form: Form
    correction: str | None = None
    likenesses: dict[str, str] = {}
    bands: dict[str, tuple[float, float, float, float]] | None = None
    decoding: Decoding = Decoding()
    replace: bool = False


class Measures(BaseModel):
    """What is measured of a frame while it is printed.

    ``anchor_ev`` is the gain that put plain where the camera rendering is, and ``floor_ev`` the exposure
    drift that was left (None: not comparable); ``midtone_ev`` is where the print's own mid-tone stands about
    middle grey.
    """

    model_config = ConfigDict(frozen=True)

    verdict: str
    largest: str | None
    anchor_ev: float
    floor_ev: float | None = None
    midtone_ev: float


class Printed(BaseModel):
    """One print that was made, with what was measured on the way: see :class:`Measures`."""

    model_config = ConfigDict(frozen=True)

    frame: str
    path: str
    verdict: str
    largest: str | None
    anchor_ev: float
    floor_ev: float | None = None
    midtone_ev: float
    making: Making
    quick: str | None = None
    replaced: bool = False

    @property
    def measures(self) -> Measures:
        """What was measured."""
        return Measures(**{name: getattr(self, name) for name in Measures.model_fields})


class Failed(BaseModel):
    """One frame that got no print, and why."""

    model_config = ConfigDict(frozen=True)

    frame: str
    code: str
    reason: str
    hint: str = ""


class Kept(BaseModel):
    """A frame whose print was there already, of this version or, left at that, of an older one.

    ``key`` is that of the print's making; ``measures`` what was measured when it was made, if that is known.
    """

    model_config = ConfigDict(frozen=True)

    frame: str
    path: str
    ref: str | None
    fingerprint: str
    quick: str | None = None
    key: str = ""
    measures: Measures | None = None

    def json_document(self) -> dict[str, Any]:
        """As ``apply --json`` prints it."""
        verdict = self.measures.verdict if self.measures else None
        return {"frame": self.frame, "path": self.path, "ref": self.ref, "verdict": verdict}


class RunResult(BaseModel):
    """What a run did. Everything stands in the order of the frames."""

    model_config = ConfigDict(frozen=True)

    prints: Sequence[Printed] = ()
    failed: Sequence[Failed] = ()
    there: Sequence[Kept] = ()
    older: Sequence[Kept] = ()
    seconds: float = 0.0
    unrecorded: str = ""

    @property
    def skipped(self) -> int:
        """How many frames had their print already, or keep the one of an older version."""
        return len(self.there) + len(self.older)

    def json_document(self) -> dict[str, Any]:
        """The result as ``apply --json`` prints it."""
        return {
            "prints": [one.model_dump(mode="json", exclude={"making", "quick"}) for one in self.prints],
            "failed": [one.model_dump(mode="json") for one in self.failed],
            "skipped": self.skipped,
            "there": [one.json_document() for one in self.there],
            "older": [one.json_document() for one in self.older],
            "by_hand": [asdict(one) for one in self.by_hand],
            "spread": asdict(self.spread) if self.spread else None,
            "seconds": self.seconds,
        }

    @property
    def asked(self) -> int:
        """How many frames the request had."""
        return len(self.prints) + self.skipped + len(self.failed)

    @property
    def measured(self) -> Sequence[Measured]:
        """Every print of the request, made now or there already, as far as its measures are known."""
        there = [(one.frame, one.path, one.measures) for one in self.there if one.measures]
        known = [*((one.frame, one.path, one.measures) for one in self.prints), *there]
        ordered = sorted(known, key=lambda one: one[0]) if there else known
        return [Measured(frame, path, **measures.model_dump()) for frame, path, measures in ordered]

    @property
    def by_hand(self) -> list[ByHand]:
        """The few frames of the request to look at by hand, and why."""
        return by_hand(self.measured)

    @property
    def spread(self) -> Spread | None:
        """How evenly the frames stand against their camera renderings, before and after anchoring."""
        return spread(self.measured)

    @property
    def exit_status(self) -> int:
        """0, or 1 if some frames failed."""
        return 1 if self.failed else 0
