"""Bringing two pictures of one exposure together: scale and shift along each axis, slight radial distortion.

Works on the structure of log luminance: less its local mean, over its local spread, so that a tone curve, a
local tone trick or another white moves nothing. A coarse shift comes from phase correlation (Kuglin and Hines
1975) under each way the two frames may relate (the same field, the same width, the same height); the
parameters from Gauss-Newton steps on the structure (Lucas and Kanade 1981), with outliers held down.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from driftline.drift.grid import Window, by_area
from driftline.drift.planes import dot, luminance

COARSE, FINE = 128, 400  # long edge in pixels
_STEPS = 12
_SAME_PLACE = 0.1  # pixels
_OUTSIDE = 0.02  # pixels
_CUTS = tuple(1.06**n for n in range(-6, 7) if n)
_SCALE_EVERY = 7
_NO_BETTER = 1.02
_DARK = 0.004  # linear luminance added before the logarithm, so that noise in the dark carries no structure

ENOUGH_STRUCTURE = 0.40
"""Measured on eight photographs: pictures of different things reach 0.15 at most, halves and mirrored copies
of one picture 0.31 (0.39 for a disc on black); the same picture after +2 or -3 EV, twice the contrast or a
hue turned by 60 degrees, with a crop or strong noise, 0.50 at least (0.40 for -3 EV under strong noise)."""
ENOUGH_CORRELATION = 0.70
"""The same pairs: different things 0.42 at most (halves of one picture 0.75, which structure tells
apart), the same picture however edited 0.82 at least."""
_ENOUGH_TO_START, _SURELY_TURNED = 0.35, 0.5
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


@dataclass(frozen=True)
class _Map:
    """Place in B = middle of B + shift + scale · (place in A - middle of A) · (1 + k1 r²), in pixels."""

    scale: tuple[float, float]
    shift: tuple[float, float]
    k1: float = 0.0


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
    if _order(B) < _order(A):
        return _exchanged(register(B, A))
    found = _register(A, B)
    return replace(found, reference=WHOLE, edited=WHOLE) if _nearly_whole(found, A, B) else found


def _order(picture: NDArray[np.float32]) -> tuple[float, ...]:
    return (picture.size, *picture.shape, float(picture.sum(dtype=np.float64)))


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
    coarse_A, coarse_B = luminance_at(A, COARSE), luminance_at(B, COARSE)
    if min(float(np.std(_log(p))) for p in (coarse_A, coarse_B)) < 0.02:
        return Registration(WHOLE, WHOLE, correlation=0.0, structure=0.0, problem=_FLAT)
    start, found = _best_start(_structure(coarse_A), _structure(coarse_B))
    if found < _ENOUGH_TO_START:
        turned = _turned(_structure(coarse_A), _structure(coarse_B))
        if turned:
            return Registration(WHOLE, WHOLE, correlation=0.0, structure=found, problem=turned)
    start, _ = _refine(_structure(coarse_A), _structure(coarse_B), start, with_k1=False)
    fine_A, fine_B = luminance_at(A, FINE), luminance_at(B, FINE)
    S_A, S_B = _structure(fine_A), _structure(fine_B)
    start = _enlarged(start, coarse_A.shape, coarse_B.shape, S_A.shape, S_B.shape)
    fit, structure = _refine(S_A, S_B, start, with_k1=False)
    bent, bent_structure = _refine(S_A, S_B, fit, with_k1=True)
    corner = np.hypot(*S_A.shape) / 2
    if abs(bent.k1) * corner > 0.5 and bent_structure > structure:
        fit, structure = bent, bent_structure
    if A.shape == B.shape:
        fit, structure = _unless_no_better(fit, structure, S_A, S_B)
    return _registration(_log(fine_A), _log(fine_B), fit, structure)


def _unless_no_better(
    fit: _Map, structure: float, S_A: NDArray[Any], S_B: NDArray[Any]
) -> tuple[_Map, float]:
    """A fit, unless two pictures of one size agree as well where they lie, as along a gradient."""
    as_they_are = _agreement(S_A, S_B)
    if 1 - as_they_are <= _NO_BETTER * (1 - structure) + 1e-6:
        return _Map((1.0, 1.0), (0.0, 0.0)), as_they_are
    return fit, structure


_FLAT = "a picture is black, or flat: there is nothing in it to compare"


def luminance_at(rgb: NDArray[np.float32], long_edge: int) -> NDArray[np.float32]:
    """Luminance averaged down to a long edge (never up), (h, w) float32."""
    _, h, w = rgb.shape
    factor = min(1.0, long_edge / max(h, w))
    shape = max(8, round(h * factor)), max(8, round(w * factor))
    return by_area(luminance(rgb), Window(0.0, 0.0, float(h), float(w)), shape)


def _log(Y: NDArray[np.float32]) -> NDArray[np.float32]:
    return np.asarray(np.log2(Y + np.float32(_DARK)))


def _structure(Y: NDArray[np.float32]) -> NDArray[np.float32]:
    """Log luminance less its local mean, over its local spread; flat parts stay near 0."""
    x = _log(Y)
    x = x - ndimage.gaussian_filter(x, 5, mode="nearest", truncate=2.5)
    spread = ndimage.gaussian_filter(x * x, 8, mode="nearest", truncate=2.5)
    return np.asarray(x / np.sqrt(spread + np.float32(0.1**2)))


def _best_start(S_A: NDArray[Any], S_B: NDArray[Any], *, cut: bool = True) -> tuple[_Map, float]:
    """The likeliest relation of two coarse pictures, and how well the structure agrees under it.

    With ``cut``, also those in which one shows less of the field than the edges of both would say.
    """
    ratio = S_B.shape[0] / S_A.shape[0], S_B.shape[1] / S_A.shape[1]
    scales = list(dict.fromkeys([ratio, (ratio[0], ratio[0]), (ratio[1], ratio[1])]))
    best = max((_shifted(S_A, S_B, scale) for scale in scales), key=lambda found: found[1])
    if cut and best[1] < _ENOUGH_TO_START:
        more = [(s[0] * f, s[1] * f) for s in scales for f in _CUTS]
        best = max([best, *(_shifted(S_A, S_B, scale) for scale in more)], key=lambda found: found[1])
    return best


def _shifted(S_A: NDArray[Any], S_B: NDArray[Any], scale: tuple[float, float]) -> tuple[_Map, float]:
    """The shift under which two pictures agree best, by phase correlation, given the scale."""
    on_A = _sampled(S_B, S_A.shape, _Map(scale, (0.0, 0.0)))
    shape = [2 * n for n in S_A.shape]
    cross = np.conj(np.fft.rfft2(S_A, shape)) * np.fft.rfft2(np.nan_to_num(on_A), shape)
    peaks = np.fft.irfft2(cross / np.maximum(np.abs(cross), 1e-9), shape)
    best = (_Map(scale, (0.0, 0.0)), -1.0)
    for index in np.argsort(peaks, axis=None)[-3:]:
        dy, dx = (int(i) for i in np.unravel_index(index, peaks.shape))
        dy, dx = dy - shape[0] * (dy > S_A.shape[0]), dx - shape[1] * (dx > S_A.shape[1])
        trial = _Map(scale, (dy * scale[0], dx * scale[1]))
        agreement = _agreement(S_A, _sampled(S_B, S_A.shape, trial))
        best = max(best, (trial, agreement), key=lambda found: found[1])
    return best


def _turned(S_A: NDArray[Any], S_B: NDArray[Any]) -> str:
    """Words for the turn that would bring B onto A; empty when none does."""
    for words, turn in TURNS.items():
        if _best_start(S_A, np.ascontiguousarray(turn(S_B)), cut=False)[1] >= _SURELY_TURNED:
            return (
                f"the edited picture would have to be {words} to lie on its reference; both must be upright"
            )
    return ""


def _places(shape: tuple[int, ...]) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Row and column about the middle, and r² with 1 at the corner."""
    y = np.arange(shape[0], dtype=np.float32)[:, None] - np.float32((shape[0] - 1) / 2)
    x = np.arange(shape[1], dtype=np.float32)[None, :] - np.float32((shape[1] - 1) / 2)
    return y, x, (y * y + x * x) / np.float32((shape[0] ** 2 + shape[1] ** 2) / 4)


def _sampled(picture: NDArray[Any], shape: tuple[int, ...], m: _Map) -> NDArray[Any]:
    """B at the places of A, bilinear, nan outside."""
    y, x, r2 = _places(shape)
    if m.k1 == 0:
        row = (picture.shape[0] - 1) / 2 + m.shift[0] + m.scale[0] * y[:, 0].astype(np.float64)
        column = (picture.shape[1] - 1) / 2 + m.shift[1] + m.scale[1] * x[0].astype(np.float64)
        return _between(_between(picture, row).T, column).T
    bend = 1 + np.float32(m.k1) * r2
    row = np.float32((picture.shape[0] - 1) / 2 + m.shift[0]) + np.float32(m.scale[0]) * y * bend
    column = np.float32((picture.shape[1] - 1) / 2 + m.shift[1]) + np.float32(m.scale[1]) * x * bend
    at = np.stack([row, column])
    return np.asarray(
        ndimage.map_coordinates(picture, at, order=1, mode="constant", cval=np.nan, output=np.float32)
    )


def _between(picture: NDArray[Any], rows: NDArray[Any]) -> NDArray[Any]:
    """Rows of a picture at fractional positions, nan outside."""
    first = np.clip(np.floor(rows).astype(int), 0, len(picture) - 2)
    part = (rows - first).astype(np.float32)[:, None]
    found = picture[first] * (1 - part) + picture[first + 1] * part
    found[(rows < -_OUTSIDE) | (rows > len(picture) - 1 + _OUTSIDE)] = np.nan
    return np.asarray(found)


def _agreement(a: NDArray[Any], b: NDArray[Any]) -> float:
    """Correlation where both are known; -1 when they share less than a quarter of the picture."""
    both = np.isfinite(a) & np.isfinite(b)
    if np.count_nonzero(both) < a.size / 4:
        return -1.0
    a, b = a[both], b[both]
    a, b = a - a.mean(), b - b.mean()
    size = float(np.sqrt(float(dot(a, a)) * float(dot(b, b))))
    return float(dot(a, b)) / size if size > 0 else -1.0


def _refine(S_A: NDArray[Any], S_B: NDArray[Any], m: _Map, *, with_k1: bool) -> tuple[_Map, float]:
    """Gauss-Newton on scale and shift (and k1) from a start within a pixel or two; the best seen is kept."""
    y, x, r2 = _places(S_A.shape)
    on_A = _sampled(S_B, S_A.shape, m)
    best = m, _agreement(S_A, on_A)
    for _ in range(_STEPS):
        step = _step(S_A, on_A, y, x, r2 if with_k1 else None)
        m = _Map(
            (m.scale[0] * (1 + step[2]), m.scale[1] * (1 + step[3])),
            (m.shift[0] + m.scale[0] * step[0], m.shift[1] + m.scale[1] * step[1]),
            m.k1 + (float(step[4]) if with_k1 else 0.0),
        )
        on_A = _sampled(S_B, S_A.shape, m)
        agreement = _agreement(S_A, on_A)
        if agreement > best[1]:
            best = m, agreement
        if np.abs(step[:2]).max() < 2e-3 and np.abs(step[2:]).max() * max(S_A.shape) / 2 < 4e-3:
            break
    return best


def _step(
    S_A: NDArray[Any], on_A: NDArray[Any], y: NDArray[Any], x: NDArray[Any], r2: NDArray[Any] | None
) -> NDArray[np.float64]:
    """One weighted least-squares step: shift y, shift x, scale y, scale x (and k1)."""
    miss = S_A - on_A
    gy, gx = np.gradient((S_A + on_A) / 2)
    known = np.isfinite(miss) & np.isfinite(gy) & np.isfinite(gx)
    if not known.any():
        return np.zeros(4 if r2 is None else 5)
    unknown = ~known
    for plane in (miss, gy, gx):
        plane[unknown] = 0
    typical = float(np.median(np.abs(miss[known][::_SCALE_EVERY])))
    w = known / (1 + (miss / np.float32(max(1.5 * typical, 1e-6))) ** 2)
    columns = [gy, gx, gy * y, gx * x]
    if r2 is not None:
        columns.append(r2 * (columns[2] + columns[3]))
    weighted = [(w * column).ravel() for column in columns]
    flat = [column.ravel() for column in columns]
    normal = np.array([[float(dot(a, b)) for b in flat] for a in weighted])
    aim = np.array([float(dot(a, miss.ravel())) for a in weighted])
    return np.asarray(np.linalg.lstsq(normal, aim, rcond=None)[0])


def _enlarged(m: _Map, a: Any, b: Any, A: Any, B: Any) -> _Map:
    """A map between pictures of shapes a and b, for the same pictures at shapes A and B."""
    grow = [B[i] / b[i] for i in (0, 1)]
    return _Map(
        (m.scale[0] * grow[0] * a[0] / A[0], m.scale[1] * grow[1] * a[1] / A[1]),
        (m.shift[0] * grow[0], m.shift[1] * grow[1]),
        m.k1,
    )


def _registration(x_A: NDArray[Any], x_B: NDArray[Any], m: _Map, structure: float) -> Registration:
    windows = [_overlap(x_A.shape[i], x_B.shape[i], m.scale[i], m.shift[i]) for i in (0, 1)]
    (top, height, top_B, height_B), (left, width, left_B, width_B) = windows
    correlation = _agreement(x_A, _sampled(x_B, x_A.shape, m))
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
