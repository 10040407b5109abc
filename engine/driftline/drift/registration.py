"""Bringing two pictures of one exposure together: scale and shift along each axis, slight radial distortion.

Works on the structure of log luminance: less its local mean, over its local spread, so that a tone curve, a
local tone trick or another white moves nothing. :mod:`driftline.drift.aligning` finds the place; here stands
what it means, and when two pictures are not compared.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.drift.aligning import (
    ENOUGH_TO_START,
    Placement,
    agreement,
    best_start,
    enlarged,
    refine,
    sampled,
)
from driftline.drift.grid import Window, by_area
from driftline.drift.planes import luminance
from driftline.pipeline.kernels.blur import blur

COARSE, FINE = 128, 400  # long edge in pixels
_SAME_PLACE = 0.1  # pixels
_NO_BETTER = 1.02
_DARK = 0.004  # linear luminance added before the logarithm, so that noise in the dark carries no structure

ENOUGH_STRUCTURE = 0.40
"""Measured on eight photographs: pictures of different things reach 0.15 at most, halves and mirrored copies
of one picture 0.31 (0.39 for a disc on black); the same picture after +2 or -3 EV, twice the contrast or a
hue turned by 60 degrees, with a crop or strong noise, 0.50 at least (0.40 for -3 EV under strong noise)."""
ENOUGH_CORRELATION = 0.70
"""The same pairs: different things 0.42 at most (halves of one picture 0.75, which structure tells
apart), the same picture however edited 0.82 at least."""
_SURELY_TURNED = 0.5
_Turn = Callable[[NDArray[Any]], NDArray[Any]]
TURNS: Mapping[str, _Turn] = {
    "turned by 90 degrees": lambda a: np.rot90(a, 1),
    "turned by 180 degrees": lambda a: np.rot90(a, 2),
    "turned by 270 degrees": lambda a: np.rot90(a, 3),
    "mirrored": lambda a: a[:, ::-1],
    "mirrored and turned by 90 degrees": lambda a: np.rot90(a[:, ::-1], 1),
    "mirrored and turned by 180 degrees": lambda a: a[::-1],
    "mirrored and turned by 270 degrees": lambda a: np.rot90(a[:, ::-1], 3),
}


@dataclass(frozen=True)
class Registration:
    """How an edited picture lies on its reference.

    Attributes
    ----------
    reference, edited
        The part of each picture that both show, in shares of its height and width.
    k1
        Radial distortion of the edited picture against the reference: a place at distance r from the middle
        lies at r (1 + k1 r²), r = 1 at the corner.
    correlation
        Of log luminance after registration, -1 … 1.
    structure
        Of its local structure alone, -1 … 1: near 0 for two pictures of different things, however alike
        their light.
    problem
        Why the two cannot be compared; empty when they can.
    """

    reference: Window
    edited: Window
    k1: float = 0.0
    correlation: float = 1.0
    structure: float = 1.0
    problem: str = ""

    @property
    def exact(self) -> bool:
        """Whether both pictures are the same field."""
        return self.k1 == 0 and self.reference == self.edited


WHOLE = Window(0.0, 0.0, 1.0, 1.0)
SAME_PLACE = Registration(WHOLE, WHOLE)


def register(A: NDArray[np.float32], B: NDArray[np.float32]) -> Registration:
    """Find how B lies on A.

    The darker picture (or the smaller) is always laid on the other, so that exchanging the two exchanges
    their windows and changes nothing else. Pictures of one size that lie on each other to ``_SAME_PLACE``
    are taken as they are.

    Parameters
    ----------
    A, B
        (3, h, w) float32 linear sRGB, upright, of any two sizes.
    """
    if _comes_before(B, A):
        return _exchanged(register(B, A))
    found = _register(A, B)
    return replace(found, reference=WHOLE, edited=WHOLE) if _nearly_whole(found, A, B) else found


def _comes_before(B: NDArray[np.float32], A: NDArray[np.float32]) -> bool:
    """Whether a picture is the smaller, or of two of one size the darker."""
    if A.shape != B.shape:
        return (B.size, *B.shape) < (A.size, *A.shape)
    return float(B.sum(dtype=np.float64)) < float(A.sum(dtype=np.float64))


def _exchanged(found: Registration) -> Registration:
    return replace(found, reference=found.edited, edited=found.reference, k1=-found.k1)


def _nearly_whole(found: Registration, A: NDArray[Any], B: NDArray[Any]) -> bool:
    if A.shape != B.shape or found.k1 or found.problem:
        return False
    a, b, (_, h, w) = found.reference, found.edited, A.shape
    edges = [(a.top - b.top) * h, (a.left - b.left) * w]
    ends = [(a.top + a.height - b.top - b.height) * h, (a.left + a.width - b.left - b.width) * w]
    return bool(max(abs(miss) for miss in (*edges, *ends)) < _SAME_PLACE)


def _register(A: NDArray[np.float32], B: NDArray[np.float32]) -> Registration:
    Y_A, Y_B = luminance(A), luminance(B)
    coarse_A, coarse_B = averaged(Y_A, COARSE), averaged(Y_B, COARSE)
    if min(float(np.std(_log(p))) for p in (coarse_A, coarse_B)) < 0.02:
        return Registration(WHOLE, WHOLE, correlation=0.0, structure=0.0, problem=_FLAT)
    start, found = best_start(_structure(coarse_A), _structure(coarse_B))
    if found < ENOUGH_TO_START:
        turned = _turned(_structure(coarse_A), _structure(coarse_B))
        if turned:
            return Registration(WHOLE, WHOLE, correlation=0.0, structure=found, problem=turned)
    start, _ = refine(_structure(coarse_A), _structure(coarse_B), start, with_k1=False)
    fine_A, fine_B = averaged(Y_A, FINE), averaged(Y_B, FINE)
    S_A, S_B = _structure(fine_A), _structure(fine_B)
    start = enlarged(start, coarse_A.shape, coarse_B.shape, S_A.shape, S_B.shape)
    fit, structure = refine(S_A, S_B, start, with_k1=False)
    bent, bent_structure = refine(S_A, S_B, fit, with_k1=True)
    corner = np.hypot(*S_A.shape) / 2
    if abs(bent.k1) * corner > 0.5 and bent_structure > structure:
        fit, structure = bent, bent_structure
    if A.shape == B.shape:
        fit, structure = _unless_no_better(fit, structure, S_A, S_B)
    return _registration(_log(fine_A), _log(fine_B), fit, structure)


def _unless_no_better(
    fit: Placement, structure: float, S_A: NDArray[Any], S_B: NDArray[Any]
) -> tuple[Placement, float]:
    """A fit, unless two pictures of one size agree as well where they lie, as along a gradient."""
    as_they_are = agreement(S_A, S_B)
    if 1 - as_they_are <= _NO_BETTER * (1 - structure) + 1e-6:
        return Placement((1.0, 1.0), (0.0, 0.0)), as_they_are
    return fit, structure


_FLAT = "a picture is black, or flat: there is nothing in it to compare"


def averaged(Y: NDArray[np.float32], long_edge: int) -> NDArray[np.float32]:
    """Luminance (h, w) averaged down to a long edge (never up), float32."""
    h, w = Y.shape
    factor = min(1.0, long_edge / max(h, w))
    shape = max(8, round(h * factor)), max(8, round(w * factor))
    return by_area(Y, Window(0.0, 0.0, float(h), float(w)), shape)


def _log(Y: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.asarray(np.log2(Y + np.float32(_DARK)))


def _structure(Y: NDArray[np.float32]) -> NDArray[np.float32]:
    """Log luminance less its local mean, over its local spread; flat parts stay near 0."""
    x = _log(Y)
    x = x - blur(x, 5, truncate=2.5)
    spread = blur(x * x, 8, truncate=2.5)
    return np.asarray(x / np.sqrt(spread + np.float32(0.1**2)))


def _turned(S_A: NDArray[Any], S_B: NDArray[Any]) -> str:
    """Words for the turn that would bring B onto A; empty when none does."""
    for words, turn in TURNS.items():
        if best_start(S_A, np.ascontiguousarray(turn(S_B)), cut=False)[1] >= _SURELY_TURNED:
            return (
                f"the edited picture would have to be {words} to lie on its reference; both must be upright"
            )
    return ""


def _registration(x_A: NDArray[Any], x_B: NDArray[Any], m: Placement, structure: float) -> Registration:
    windows = [_overlap(x_A.shape[i], x_B.shape[i], m.scale[i], m.shift[i]) for i in (0, 1)]
    (top, height, top_B, height_B), (left, width, left_B, width_B) = windows
    correlation = agreement(x_A, sampled(x_B, x_A.shape, m))
    problem = ""
    if structure < ENOUGH_STRUCTURE or correlation < ENOUGH_CORRELATION:
        problem = (
            f"the two pictures do not lie on each other (log luminance correlates {correlation:.2f}, "
            f"its structure {structure:.2f}; at least {ENOUGH_CORRELATION} and {ENOUGH_STRUCTURE} are needed)"
        )
    return Registration(
        Window(top, left, height, width),
        Window(top_B, left_B, height_B, width_B),
        float(m.k1),
        correlation,
        structure,
        problem,
    )


def _overlap(n_A: int, n_B: int, scale: float, shift: float) -> tuple[float, float, float, float]:
    """Start and length of what both show along one axis, in shares of A and of B."""
    start = max(0.0, n_A / 2 + (0 - n_B / 2 - shift) / scale)
    end = min(float(n_A), n_A / 2 + (n_B / 2 - shift) / scale)
    start_B = n_B / 2 + shift + scale * (start - n_A / 2)
    length_B = scale * (end - start)
    return float(start / n_A), float((end - start) / n_A), float(start_B / n_B), float(length_B / n_B)
