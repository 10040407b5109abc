"""A run in few words: how evenly the frames stand, and which few to look at by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median, pstdev
from typing import TYPE_CHECKING, Final, Literal

from driftline.drift.causes import NAMES

if TYPE_CHECKING:
    from driftline.batch.order import Printed

FAR_EV: Final = 1.5
"""Common practice: a frame a stop and a half off its neighbours was metered for something else."""

_FEWEST: Final = 5
_FAR_SIGMAS: Final = 2.5
_SIGMA_OF_MAD: Final = 1.4826


@dataclass(frozen=True)
class Measured:
    """A print and what was measured when it was made: see :class:`~driftline.batch.order.Measures`."""

    frame: str
    path: str
    verdict: str
    largest: str | None
    anchor_ev: float
    floor_ev: float | None
    midtone_ev: float


@dataclass(frozen=True)
class ByHand:
    """A frame to look at, and why: its look drifts out of its bands, or the meter was misled."""

    frame: str
    path: str
    kind: Literal["look", "meter"]
    why: str


@dataclass(frozen=True)
class Spread:
    """How unevenly plain stood against the camera renderings, as standard deviations in EV.

    Attributes
    ----------
    metered
        As the frames were exposed: the spread of the gain each needed.
    anchored
        After each frame was put where its camera rendering is: what is left of the exposure drift.
    frames
        How many frames could be compared.
    """

    metered: float
    anchored: float
    frames: int


def spread(prints: Sequence[Measured | Printed]) -> Spread | None:
    """The spread of mid-tones before and after anchoring; None with fewer than two comparable frames."""
    known = [(one.anchor_ev, one.floor_ev) for one in prints if one.floor_ev is not None]
    if len(known) < 2:
        return None
    gains, left = zip(*known, strict=True)
    return Spread(round(pstdev(gains), 3), round(pstdev(left), 3), len(known))


def by_hand(prints: Sequence[Measured | Printed]) -> list[ByHand]:
    """The frames on which the look drifts out of its bands, then those far lighter or darker than the rest.

    A frame that is both stands there twice.
    """
    odd = _off_the_middle(prints)
    look = [
        ByHand(one.frame, one.path, "look", _overdone(one)) for one in prints if one.verdict == "overdone"
    ]
    return look + [ByHand(one.frame, one.path, "meter", odd[one.path]) for one in prints if one.path in odd]


def _overdone(one: Measured | Printed) -> str:
    return f"overdone, most of it {NAMES.get(one.largest, one.largest)}" if one.largest else "overdone"


def _off_the_middle(prints: Sequence[Measured | Printed]) -> dict[str, str]:
    """By path, how far a print's mid-tone stands off the middle of the run, if that is far for this run."""
    if len(prints) < _FEWEST:
        return {}
    middle = median(one.midtone_ev for one in prints)
    sigma = _SIGMA_OF_MAD * median(abs(one.midtone_ev - middle) for one in prints)
    far = max(FAR_EV, _FAR_SIGMAS * sigma)
    return {
        one.path: f"{abs(off):.1f} EV {'lighter' if off > 0 else 'darker'} than the middle of this run"
        for one in prints
        for off in [one.midtone_ev - middle]
        if abs(off) > far
    }
