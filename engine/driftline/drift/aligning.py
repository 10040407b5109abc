"""Finding how one plane of structure lies on another: coarse shift and scale, then small steps.

The shift comes from phase correlation (Kuglin and Hines 1975) under each way the two frames may relate; the
parameters from Gauss-Newton steps (Lucas and Kanade 1981) with outliers held down.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.drift.passes import bilinear
from driftline.drift.planes import dot

ENOUGH_TO_START = 0.35
_STEPS = 12
_LEAST_SHARE, _MOST_SHARE = 0.1, 0.9
_OUTSIDE = 0.02  # pixels
_SCALE_EVERY = 7
_CUTS = tuple(1.06**n for n in range(-6, 7) if n)


@dataclass(frozen=True)
class Placement:
    """Place in B = middle of B + shift + scale · (place in A - middle of A) · (1 + k1 r²), in pixels."""

    scale: tuple[float, float]
    shift: tuple[float, float]
    k1: float = 0.0


def best_start(S_A: NDArray[Any], S_B: NDArray[Any], *, cut: bool = True) -> tuple[Placement, float]:
    """The likeliest relation of two coarse pictures, and how well the structure agrees under it.

    With ``cut``, also those in which one shows less of the field than the edges of both would say.
    """
    ratio = S_B.shape[0] / S_A.shape[0], S_B.shape[1] / S_A.shape[1]
    scales = list(dict.fromkeys([ratio, (ratio[0], ratio[0]), (ratio[1], ratio[1])]))
    best = max((_shifted(S_A, S_B, scale) for scale in scales), key=lambda found: found[1])
    if cut and best[1] < ENOUGH_TO_START:
        more = [(s[0] * f, s[1] * f) for s in scales for f in _CUTS]
        best = max([best, *(_shifted(S_A, S_B, scale) for scale in more)], key=lambda found: found[1])
    return best


def _shifted(S_A: NDArray[Any], S_B: NDArray[Any], scale: tuple[float, float]) -> tuple[Placement, float]:
    """The shift under which two pictures agree best, by phase correlation, given the scale."""
    on_A = sampled(S_B, S_A.shape, Placement(scale, (0.0, 0.0)))
    shape = [2 * n for n in S_A.shape]
    cross = np.conj(np.fft.rfft2(S_A, shape)) * np.fft.rfft2(np.nan_to_num(on_A), shape)
    peaks = np.fft.irfft2(cross / np.maximum(np.abs(cross), 1e-9), shape)
    best = (Placement(scale, (0.0, 0.0)), -1.0)
    for index in np.argsort(peaks, axis=None)[-3:]:
        dy, dx = (int(i) for i in np.unravel_index(index, peaks.shape))
        dy, dx = dy - shape[0] * (dy > S_A.shape[0]), dx - shape[1] * (dx > S_A.shape[1])
        trial = Placement(scale, (dy * scale[0], dx * scale[1]))
        how_well = agreement(S_A, sampled(S_B, S_A.shape, trial))
        best = max(best, (trial, how_well), key=lambda found: found[1])
    return best


def refine(S_A: NDArray[Any], S_B: NDArray[Any], m: Placement, *, with_k1: bool) -> tuple[Placement, float]:
    """Gauss-Newton on scale and shift (and k1) from a start within a pixel or two; the best seen is kept.

    Noise in the gradients makes each step too short, all by about one share. Two steps tell that share, and
    the third is made as long as all that would follow it (Aitken's delta-squared).
    """
    y, x, r2 = _places(S_A.shape)
    on_A = sampled(S_B, S_A.shape, m)
    best, last = (m, agreement(S_A, on_A)), None
    for _ in range(_STEPS):
        own = _step(S_A, on_A, y, x, r2 if with_k1 else None)
        moved = np.concatenate([own[:2], own[2:] * max(S_A.shape) / 2])  # pixels, at the edge
        share = 0.0 if last is None else float(moved @ last) / float(last @ last)
        longer = _LEAST_SHARE < share < _MOST_SHARE
        step, last = (own / (1 - share), None) if longer else (own, moved)
        m = Placement(
            (m.scale[0] * (1 + step[2]), m.scale[1] * (1 + step[3])),
            (m.shift[0] + m.scale[0] * step[0], m.shift[1] + m.scale[1] * step[1]),
            m.k1 + (float(step[4]) if with_k1 else 0.0),
        )
        on_A = sampled(S_B, S_A.shape, m)
        how_well = agreement(S_A, on_A)
        if how_well > best[1]:
            best = m, how_well
        if np.abs(moved[:2]).max() < 2e-3 and np.abs(moved[2:]).max() < 4e-3:
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


def agreement(a: NDArray[Any], b: NDArray[Any]) -> float:
    """Correlation where both are known; -1 when they share less than a quarter of the picture."""
    both = np.isfinite(a) & np.isfinite(b)
    if np.count_nonzero(both) < a.size / 4:
        return -1.0
    a, b = a[both], b[both]
    a, b = a - a.mean(), b - b.mean()
    size = float(np.sqrt(float(dot(a, a)) * float(dot(b, b))))
    return float(dot(a, b)) / size if size > 0 else -1.0


def enlarged(m: Placement, a: Any, b: Any, A: Any, B: Any) -> Placement:
    """A map between pictures of shapes a and b, for the same pictures at shapes A and B."""
    grow = [B[i] / b[i] for i in (0, 1)]
    return Placement(
        (m.scale[0] * grow[0] * a[0] / A[0], m.scale[1] * grow[1] * a[1] / A[1]),
        (m.shift[0] * grow[0], m.shift[1] * grow[1]),
        m.k1,
    )


def _places(shape: tuple[int, ...]) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Row and column about the middle, and r² with 1 at the corner."""
    y = np.arange(shape[0], dtype=np.float32)[:, None] - np.float32((shape[0] - 1) / 2)
    x = np.arange(shape[1], dtype=np.float32)[None, :] - np.float32((shape[1] - 1) / 2)
    return y, x, (y * y + x * x) / np.float32((shape[0] ** 2 + shape[1] ** 2) / 4)


def sampled(picture: NDArray[Any], shape: tuple[int, ...], m: Placement) -> NDArray[Any]:
    """B at the places of A, bilinear, nan outside."""
    if m.k1 == 0:  # one axis after the other takes a third of the time
        y, x, _ = _places(shape)
        row = (picture.shape[0] - 1) / 2 + m.shift[0] + m.scale[0] * y[:, 0].astype(np.float64)
        column = (picture.shape[1] - 1) / 2 + m.shift[1] + m.scale[1] * x[0].astype(np.float64)
        return _between(_between(picture, row).T, column).T
    out: NDArray[Any] = np.empty((1, *shape), np.float32)
    plane = np.ascontiguousarray(picture, dtype=np.float32)[None]
    scale, shift = (tuple(float(v) for v in pair) for pair in (m.scale, m.shift))
    bilinear(plane, scale, shift, float(m.k1), 0.0, _OUTSIDE, 0, shape[0], out)
    return np.asarray(out[0])


def _between(picture: NDArray[Any], rows: NDArray[Any]) -> NDArray[Any]:
    """Rows of a picture at fractional positions, nan outside."""
    first = np.clip(np.floor(rows).astype(int), 0, len(picture) - 2)
    part = (rows - first).astype(np.float32)[:, None]
    found = picture[first] * (1 - part) + picture[first + 1] * part
    found[(rows < -_OUTSIDE) | (rows > len(picture) - 1 + _OUTSIDE)] = np.nan
    return np.asarray(found)
