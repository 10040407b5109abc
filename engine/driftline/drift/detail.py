"""Detail by scale: how much fine, middling and broad structure one picture has against the other.

Fine is what a blur of 1 px takes away, middling lies between blurs of 1.5 and 4 px, broad between 8 and 24 px
of the common grid. Each band is measured in Oklab lightness after the other picture's global tone curve has
been laid over it, so that contrast is not read as sharpening.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

_CURVE = np.linspace(0.005, 0.995, 65)
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
    bands_A, bands_B = band_contrast(L_A, mask), band_contrast(L_B, mask)
    pushed_A = band_contrast(pushed(L_A, L_B, mask), mask)
    pushed_B = band_contrast(pushed(L_B, L_A, mask), mask)
    result: dict[str, float | None] = {}
    for key in bands_A:
        contrasts = bands_A[key], bands_B[key], pushed_A[key], pushed_B[key]
        if min(contrasts) < _LEAST:
            result[key] = None
            continue
        a, b, a_as_b, b_as_a = np.log2(contrasts)
        result[key] = float((b - a_as_b) - (a - b_as_a)) / 2
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


def pushed(L_A: Plane, L_B: Plane, mask: NDArray[np.bool_]) -> Plane:
    """A with the global tone curve that gives it the lightness distribution of B."""
    a, b = (np.quantile(L[mask][:: max(1, int(mask.sum()) // 50000)], _CURVE) for L in (L_A, L_B))
    a = np.maximum.accumulate(a + np.arange(len(a)) * 1e-7)
    low, high = (b[1] - b[0]) / max(a[1] - a[0], 1e-6), (b[-1] - b[-2]) / max(a[-1] - a[-2], 1e-6)
    xs = np.concatenate([[a[0] - 1], a, [a[-1] + 1]])
    ys = np.concatenate([[b[0] - min(low, 4.0)], b, [b[-1] + min(high, 4.0)]])
    return np.asarray(np.interp(L_A, xs, ys), dtype=np.float32)


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
    return float(band[mask].std(dtype=np.float64)) if mask.sum() > 50 else 0.0
