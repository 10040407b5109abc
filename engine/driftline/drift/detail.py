"""Detail by scale: how much fine, middling and broad structure one picture has against the other.

Fine is what a blur of 1 px takes away, middling lies between blurs of 1.5 and 4 px, broad between 8 and 24 px
of the common grid. Each band is measured in Oklab lightness after a global tone curve has brought both
pictures to one distribution of lightness, so that contrast is not read as sharpening.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from driftline.drift.tone import quantiles

_SHARES = np.linspace(0.005, 0.995, 65)
_SAMPLES, _LEVELS, _STEEPEST = 50_000, 2048, 4.0
_LEAST = 1e-4  # Oklab L; a band with less has nothing to compare

Plane = NDArray[np.float32]


def fit_detail(L_A: Plane, L_B: Plane, mask: NDArray[np.bool_]) -> dict[str, float | None]:
    """Log2 ratio of band contrast, B against A, by cause; None where a band is empty.

    Parameters
    ----------
    L_A, L_B
        (h, w) float32 Oklab lightness on the common grid.
    mask
        Where both pictures are away from clipping.
    """
    bands_A, bands_B = (band_contrast(L, mask) for L in met_half_way(L_A, L_B, mask))
    result: dict[str, float | None] = {}
    for key, contrast in bands_A.items():
        empty = min(contrast, bands_B[key]) < _LEAST
        result[key] = None if empty else float(np.log2(bands_B[key] / contrast))
    return result


def band_contrast(L: Plane, mask: NDArray[np.bool_]) -> dict[str, float]:
    """Standard deviation of lightness in each band within the mask."""
    half, half_mask = _halved(L), _halved_mask(mask)
    eighth, eighth_mask = half, half_mask
    for _ in range(2):
        eighth, eighth_mask = _halved(eighth), _halved_mask(eighth_mask)
    return {
        "detail_fine": _spread(L - _blur(L, 1.0), mask),
        "detail_middling": _spread(_blur(half, 0.7) - _blur(half, 2.0), half_mask),
        "detail_broad": _spread(_blur(eighth, 0.9) - _blur(eighth, 3.0), eighth_mask),
    }


def met_half_way(L_A: Plane, L_B: Plane, mask: NDArray[np.bool_]) -> tuple[Plane, Plane]:
    """Both pictures with the lightness distribution half way between them, each by a global tone curve."""
    places = np.flatnonzero(mask)
    places = places[:: max(1, len(places) // _SAMPLES)]
    a, b = (quantiles(L.ravel()[places], _SHARES) for L in (L_A, L_B))
    return _curved(L_A, a, (a + b) / 2), _curved(L_B, b, (a + b) / 2)


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


def _blur(L: Plane, sigma: float) -> Plane:
    return np.asarray(ndimage.gaussian_filter(L, sigma, mode="nearest", truncate=3.0))


def _halved(L: Plane) -> Plane:
    h, w = L.shape[0] // 2 * 2, L.shape[1] // 2 * 2
    return np.asarray(
        (L[0:h:2, 0:w:2] + L[1:h:2, 0:w:2] + L[0:h:2, 1:w:2] + L[1:h:2, 1:w:2]) * np.float32(0.25)
    )


def _halved_mask(mask: NDArray[np.bool_]) -> NDArray[np.bool_]:
    h, w = mask.shape[0] // 2 * 2, mask.shape[1] // 2 * 2
    return np.asarray(mask[0:h:2, 0:w:2] & mask[1:h:2, 0:w:2] & mask[0:h:2, 1:w:2] & mask[1:h:2, 1:w:2])


def _spread(band: Any, mask: NDArray[np.bool_]) -> float:
    values = band[mask]
    return float(values.std(dtype=np.float64)) if len(values) > 50 else 0.0
