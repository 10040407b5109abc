"""Detail by scale: how much fine, middling and broad structure one picture has against the other.

Fine lies between blurs of 0.5 and 1 px, middling between 1.5 and 4 px, broad between 8 and 24 px of the
common grid, which is 950 px wide at most: fine is the smallest that is seen when a whole picture is looked at
on a screen or in a hand-sized print, not the sharpness of single pixels of the file. (What a blur of 0.5 px
takes away is left out: two encodings of one photograph part by 0.11 with it, by 0.07 without.) Each band is
measured in Oklab lightness after a global tone curve has brought all pictures to one distribution of
lightness, so that contrast is not read as sharpening.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.drift.planes import halved
from driftline.drift.tone import quantiles
from driftline.pipeline.kernels.blur import blur

_SHARES = np.linspace(0.005, 0.995, 65)
_SAMPLES, _LEVELS, _STEEPEST = 50_000, 2048, 4.0
_LEAST = 1e-4  # Oklab L; a band with less has nothing to compare

_BANDS = (  # cause, halvings after the last, fine and coarse blur in pixels of the halved picture
    ("detail_fine", 0, 0.5, 1.0),
    ("detail_middling", 1, 0.7, 2.0),  # 1.5 and 4 px with the blur of halving
    ("detail_broad", 2, 0.9, 3.0),  # 8 and 24 px
)

Plane = NDArray[np.float32]


def band_contrasts(pictures: Sequence[Plane], mask: NDArray[np.bool_]) -> dict[str, tuple[float, ...]]:
    """Contrast of each picture in each band, once all have the same distribution of lightness.

    The ratio of two of them is what one picture's detail is against the other's; over three pictures the
    log2 ratios add up exactly.

    Parameters
    ----------
    pictures
        (h, w) float32 Oklab lightness on one grid.
    mask
        Where all are away from clipping. What lies outside counts nowhere, not even in the blur of its
        neighbours: else a sky that clips would flatten the broad contrast around it.

    Returns
    -------
    dict
        By cause, the standard deviation of lightness in the band, one number a picture.
    """
    weight = mask.astype(np.float32)
    planes = [L * weight for L in alike(pictures, mask)]
    contrasts = {}
    for key, halvings, fine, coarse in _BANDS:
        for _ in range(halvings):
            weight, planes = halved(weight), [halved(plane) for plane in planes]
        counts = weight > 0.5
        weights = [blur(weight, sigma) for sigma in (fine, coarse)]
        bands = (_band([blur(plane, s) for s in (fine, coarse)], weights) for plane in planes)
        contrasts[key] = tuple(_spread(band[counts]) for band in bands)
    return contrasts


def detail_between(contrast_A: float, contrast_B: float) -> float | None:
    """Log2 ratio of two band contrasts, B against A; None where a band is empty."""
    if min(contrast_A, contrast_B) < _LEAST:
        return None
    return float(np.log2(contrast_B / contrast_A))


def _band(blurred: list[Plane], weights: list[Plane]) -> Plane:
    """Difference of two blurs, each of the places that count alone."""
    fine, coarse = (b / np.maximum(w, np.float32(1e-3)) for b, w in zip(blurred, weights, strict=True))
    return np.asarray(fine - coarse)


def alike(pictures: Sequence[Plane], mask: NDArray[np.bool_]) -> list[Plane]:
    """Every picture with the mean of their distributions of lightness, each by a global tone curve."""
    places = np.flatnonzero(mask)
    places = places[:: max(1, len(places) // _SAMPLES)]
    spreads = [quantiles(np.sort(L.ravel()[places]), _SHARES) for L in pictures]
    mean = np.mean(spreads, axis=0)
    return [_curved(L, spread, mean) for L, spread in zip(pictures, spreads, strict=True)]


def _curved(L: Plane, before: NDArray[Any], after: NDArray[Any]) -> Plane:
    """The tone curve through pairs of quantiles, from a table; its ends run on at the slope they have."""
    before = np.maximum.accumulate(before + np.arange(len(before)) * 1e-7)
    levels = np.linspace(0, 1, _LEVELS)
    curve = np.interp(levels, before, after)
    low = min((after[1] - after[0]) / (before[1] - before[0]), _STEEPEST)
    high = min((after[-1] - after[-2]) / (before[-1] - before[-2]), _STEEPEST)
    curve += low * np.minimum(levels - before[0], 0) + high * np.maximum(levels - before[-1], 0)
    position = np.clip(L, 0, 1) * np.float32(_LEVELS - 1)
    index = np.minimum(position.astype(np.int32), _LEVELS - 2)
    table, steps = curve.astype(np.float32), np.diff(curve).astype(np.float32)
    return np.asarray(table[index] + steps[index] * (position - index))


def _spread(band: Any) -> float:
    return float(band.std(dtype=np.float64)) if len(band) > 50 else 0.0
