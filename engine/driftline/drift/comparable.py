"""When two pictures cannot be compared, or only with doubt, and why."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.drift.causes import COLOUR_CAUSES
from driftline.drift.colour import Colour
from driftline.drift.places import Places
from driftline.drift.planes import Planes, relative_colour
from driftline.drift.together import Together
from driftline.drift.tone import quantiles, stops

FEWEST_PLACES = 100  # fewer than this are no picture
_FEW_SHARE = 0.05
_FLAT = 0.004  # Oklab L
_FAR_STOPS = 0.5
_ENDS = np.array([0.01, 0.99])
_MONOCHROME = 0.002  # Oklab C that 99 places in 100 of black and white stay below; fog made neutral does not
_LITTLE_COLOUR = 0.01  # standard deviation of z
_TINT_STEPS = np.linspace(0, 1, 17)[1:-1]
_STRONG_CAST = 0.2  # |mean z|
_NEUTRAL, _FEW_NEUTRALS = 0.05, 0.001  # |z|; share of the places
_FAR_MIRED = 120.0
_FAINT_DETAIL = 0.003  # Oklab L; fog has 0.0026 in the finest band, other pictures 0.005 at least

Names = tuple[str, str]
NAMES: Names = ("the reference", "the edited picture")


def nothing_to_compare(at: Together, pair: tuple[int, int], names: Names = NAMES) -> str:
    """Why there is no number at all for two pictures; empty when there is something to compare."""
    for i, name in zip(pair, names, strict=True):
        if at.views[i].empty:
            return f"{name} is {at.views[i].empty}"
    if at.cells[0].lab.shape[1] < FEWEST_PLACES:
        return "hardly any place is clear of black and white in both pictures"
    for i, name in zip(pair, names, strict=True):
        if at.cells[i].contrast < _FLAT:
            return f"{name} is flat: one tone all over"
    return ""


def doubt_about_exposure(ordered_A: NDArray[Any], ordered_B: NDArray[Any]) -> str:
    """Why the exposure at middle grey is a guess, of two ascending luminances; empty when it is not."""
    ends = [stops(quantiles(ordered, _ENDS)) for ordered in (ordered_A, ordered_B)]
    if max(end[1] for end in ends) < -_FAR_STOPS:
        return "nothing in the picture is as light as middle grey: exposure there is a guess"
    if min(end[0] for end in ends) > _FAR_STOPS:
        return "nothing in the picture is as dark as middle grey: exposure there is a guess"
    return ""


def monochrome(A: Places, B: Places, names: Names = NAMES) -> str:
    """Which of two pictures is black and white, in words; empty when both have colour.

    Fog of which an edit left somewhat less colour has not been made black and white.
    """
    most = [A.most_chroma, B.most_chroma]
    if max(most) < _MONOCHROME:
        return "both pictures are black and white"
    without = min(most) < min(_MONOCHROME, max(most) / 2)
    return f"{names[most.index(min(most))]} is black and white" if without else ""


def without_colour(lab_A: Planes, lab_B: Planes) -> tuple[frozenset[str], str]:
    """Which causes of colour cannot be compared at places that are light enough, and why; none when all can.

    Two pictures that are both nearly grey, as fog is, still tell their whites apart. So do they when one was
    split-toned: a colour that goes with lightness alone is a tint, and no colour of things.
    """
    if lab_A.shape[1] < FEWEST_PLACES:
        return frozenset(COLOUR_CAUSES), "hardly any place is light enough for its colour to be compared"
    if not any(_spread(lab) < _LITTLE_COLOUR for lab in (lab_A, lab_B)):
        return frozenset(), ""
    tints = all(_spread(lab, beside_tint=True) < _LITTLE_COLOUR for lab in (lab_A, lab_B))
    return frozenset(COLOUR_CAUSES) - ({"white", "duv", "split_tint"} if tints else set()), _TOO_LITTLE


_TOO_LITTLE = "too little colour to compare"


def _spread(lab: Planes, *, beside_tint: bool = False) -> float:
    """Standard deviation of z; beside the tint that each step of lightness has."""
    z = relative_colour(lab)
    if beside_tint:
        step = np.searchsorted(np.quantile(lab[0], _TINT_STEPS), lab[0])
        count = np.maximum(np.bincount(step, minlength=len(_TINT_STEPS) + 1), 1)
        real, imaginary = (np.bincount(step, part, len(_TINT_STEPS) + 1) / count for part in (z.real, z.imag))
        z = z - (real + 1j * imaginary)[step]
    return float(np.std(z))


def doubt_about_white(colour: Colour) -> str:
    """Why the white is a guess; empty when it can be trusted."""
    if colour.mean_z > _STRONG_CAST:
        return "one colour fills the picture: its white is unsure"
    if float((np.abs(colour.forth.z_start) < _NEUTRAL).mean()) < _FEW_NEUTRALS:
        return "hardly anything in the picture is neutral: its white is unsure"
    return ""


def doubt_beside_white(colour: Colour) -> str:
    """Why chroma and hue are a guess where the whites stand far apart; empty when they can be trusted.

    A change of white and one of chroma do not give the same picture in either order: what is read of chroma
    over two steps parts by up to 0.05 log2 from what is read over both, once 130 mired lie between (measured
    on five photographs; 0.005 at 20 mired).
    """
    if abs(colour.white) < _FAR_MIRED:
        return ""
    return f"the whites stand {abs(colour.white):.0f} mired apart: chroma and hue beside that are unsure"


def doubt_about_detail(contrast_A: float, contrast_B: float) -> str:
    """Why detail of one size is a guess, of both pictures' contrast in it; empty when it can be trusted."""
    faint = min(contrast_A, contrast_B) < _FAINT_DETAIL
    return "hardly any detail of this size: rounding to 8 bits counts for as much" if faint else ""


def doubt_about_all(share: float) -> str:
    """Why nothing but clipping should be held against an edit; empty when enough was compared."""
    return (
        f"only {100 * share:.1f} % of the picture is clear of black and white" if share < _FEW_SHARE else ""
    )
