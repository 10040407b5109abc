"""Edits of known size put into photographs, and the marks that measuring them must reach.

The marks are those of the validation plan: per picture, never on the mean. A leak is what an edit of one
cause puts into another; it must stay below a fifth of that cause's notice band as long as the edit stays in
gamut.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from drift.pictures import Edit, Picture, chroma, contrast, edited, exposure, white, white_matrix
from driftline.colorimetry.primaries import D65_XY, SRGB_TO_XYZ, XYZ_to_xy
from driftline.colorimetry.temperature import xy_to_cct_duv
from driftline.drift import DEFAULT_BANDS, Drift, measure_drift

LEAK = 0.2
"""Share of a notice band that an edit of another cause may put into a cause."""

CLIPS = 1.5
"""Percentage points of newly clipped places from which on an edit is not in gamut on a picture."""


@dataclass(frozen=True)
class Injection:
    """One edit: the cause it is an edit of, its true amount, and how far off the reading may be.

    ``in_gamut`` is False for edits that push colours of ordinary photographs against the gamut or into
    clipping: their own cause is still held to its mark, their leaks are shown and not held to theirs.
    """

    name: str
    cause: str
    true: float
    mark: float
    edit: Edit
    in_gamut: bool = True
    along: Mapping[str, float] = field(default_factory=dict)
    """What the edit truly is in other causes."""


def _exposure(ev: float, mark: float, *, in_gamut: bool = True) -> Injection:
    return Injection(f"exposure {ev:+.2f} EV", "exposure", ev, mark, exposure(ev), in_gamut)


def _contrast(slope: float, mark: float) -> Injection:
    return Injection(f"contrast ×{slope}", "contrast", float(np.log2(slope)), mark, contrast(slope))


def _chroma(scale: float, mark: float, *, in_gamut: bool = True) -> Injection:
    return Injection(f"chroma ×{scale}", "chroma", float(np.log2(scale)), mark, chroma(scale), in_gamut)


def _hue(turn: float, mark: float) -> Injection:
    return Injection(f"hue {turn:+.0f} deg", "hue", turn, mark, chroma(1.0, turn))


def _white(mired: float, mark: float) -> Injection:
    """An adaptation from D65 to a white so many mired warmer.

    Seen from the other picture, the same matrix is not as many mired cooler: it moves D65 by -21 for +20, by
    -54 for +50 (and Duv by -0.9e-3). A measure that only turns its sign when the pictures are exchanged
    must read the mean of the two, and that is the true amount here (20.3 for +20, 52.0 for +50; nominally
    the error would be larger by that difference).
    """
    matrix = white_matrix(mired)
    there, back = (_moved(m) for m in (matrix, np.linalg.inv(matrix)))
    true, duv = (there - back) / 2
    return Injection(f"white {mired:+.0f} mired", "white", true, mark, white(mired), along={"duv": duv})


def _moved(matrix: Picture) -> Picture:
    """Mired, and Duv in 1e-3, by which a matrix in linear sRGB moves D65."""
    (kelvin, duv), (kelvin_0, duv_0) = (
        xy_to_cct_duv(xy) for xy in (XYZ_to_xy(SRGB_TO_XYZ @ matrix @ np.ones(3)), D65_XY)
    )
    return np.array([1e6 / kelvin - 1e6 / kelvin_0, 1e3 * (duv - duv_0)])


INJECTIONS = (
    _exposure(0.10, 0.005),
    _exposure(1 / 3, 0.005),
    _exposure(-1 / 3, 0.005),
    _exposure(0.50, 0.015),
    _exposure(1.00, 0.015, in_gamut=False),
    _exposure(-1.00, 0.015),
    _contrast(1.05, 0.01),
    _contrast(1.1, 0.01),
    _contrast(1.2, 0.01),
    _contrast(1.4, 0.02),
    _contrast(0.8, 0.01),
    _chroma(0.8, 0.01),
    _chroma(1.1, 0.01),
    _chroma(1.2, 0.01),
    _chroma(1.5, 0.015, in_gamut=False),
    _chroma(2.0, 0.08, in_gamut=False),
    _hue(2, 0.7),
    _hue(5, 0.3),
    _hue(10, 0.3),
    _hue(20, 0.3),
    _white(5, 0.5),
    _white(10, 0.5),
    _white(20, 0.5),
    _white(-20, 0.5),
    _white(50, 0.04 * 50),
    Injection("duv +3", "duv", 3.0, 0.5, white(0, 0.003)),
)


@dataclass(frozen=True)
class Cell:
    """What one cause read of one edit on one picture."""

    injection: Injection
    cause: str
    read: float | None
    error: float
    allowed: float

    @property
    def ratio(self) -> float:
        """Error over what is allowed; above 1 the cell fails."""
        return self.error / self.allowed


def cells(injection: Injection, drift: Drift) -> Iterator[Cell]:
    """Every cell of the table in the row of one injection: the cause itself, and the leak into each other.

    The cause itself is held to its mark even where it is not sure of itself; leaks are not, nor are those of
    an edit that clips more than ``CLIPS`` of this picture. Where a picture has too little colour for its
    chroma to be compared, as fog has, a change of chroma or hue moves its one cast: it *is* one of white.
    """
    clips = max(drift.causes[key].value or 0.0 for key in ("clip_low", "clip_high")) > CLIPS
    alike = {"white", "duv"} if drift.causes[injection.cause].value is None else set()
    for key, cause in drift.causes.items():
        own = key == injection.cause or (injection.cause == "hue" and key.startswith("hue_"))
        if cause.value is None or key.startswith("clip"):
            continue
        if own:
            yield Cell(injection, key, cause.value, abs(cause.value - injection.true), injection.mark)
        elif injection.in_gamut and cause.confident and not clips and key not in alike:
            allowed = LEAK * DEFAULT_BANDS[key].notice
            yield Cell(injection, key, cause.value, abs(cause.value - injection.along.get(key, 0.0)), allowed)


def measured(picture: Picture, injection: Injection) -> Drift:
    """The drift of one edit, the pictures lying pixel on pixel."""
    return measure_drift(picture, edited(picture, injection.edit), registered=True)
