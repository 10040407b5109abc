"""Split-toning in Oklab: one tint for the low tones, one for the high (step 7)."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

BLACK_FADE = 0.15
"""Oklab lightness below which tints fade out, so that black stays black."""
WHITE_FADE = 0.92
"""Oklab lightness above which tints fade out, so that paper white stays white."""


def split(
    lab: NDArray[Any],
    *,
    low: tuple[float, float] = (0.0, 0.0),
    high: tuple[float, float] = (0.0, 0.0),
    pivot: float = 0.5,
    spread: float = 0.25,
) -> NDArray[Any]:
    """Add a tint to the low tones and another to the high tones.

    Parameters
    ----------
    lab
        (..., 3) Oklab, float32 (or float64, when tables are made).
    low, high
        Hue in OkLCh degrees and Oklab chroma; typical chroma 0.01 to 0.02.
    pivot
        Lightness at which both weigh the same.
    spread
        Half the range of lightness over which one passes into the other.

    Returns
    -------
    Oklab
        (..., 3) in the dtype of the input; lightness is left alone.

    Examples
    --------
    >>> split(np.float32([[0.5, 0.0, 0.0]]), low=(0, 0.02), high=(180, 0.02)).round(4).tolist()
    [[0.5, 0.0, 0.0]]
    """
    if not low[1] and not high[1]:
        return lab
    L = lab[..., 0]
    to_high = _smoothstep((L - (pivot - spread)) / (2 * spread))
    kept = _smoothstep(L / BLACK_FADE) * (1 - _smoothstep((L - WHITE_FADE) / (1 - WHITE_FADE)))
    out = np.array(lab)
    for axis, turn in ((1, np.cos), (2, np.sin)):
        dark, light = low[1] * turn(np.radians(low[0])), high[1] * turn(np.radians(high[0]))
        out[..., axis] += kept * (dark + to_high * (light - dark))
    return out


def _smoothstep(x: NDArray[Any]) -> NDArray[Any]:
    t = np.clip(x, 0, 1)
    return np.asarray(t * t * (3 - 2 * t))
