"""Chroma and hue bands in Oklab (step 7)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import Oklab

NEUTRAL_CHROMA = 0.04
"""Oklab chroma up to which a band's lightness change fades in, so that greys are left alone."""


class HueBand(NamedTuple):
    """One stretch of the hue circle and what is done to it."""

    hue: float
    width: float
    turn: float = 0.0
    scale: float = 1.0
    lightness: float = 0.0


def chroma(lab: Oklab, *, scale: float = 1.0, bands: Iterable[HueBand] = ()) -> Oklab:
    """Scale chroma as a whole, and turn, scale and lighten bands of hue.

    Parameters
    ----------
    lab
        (..., 3) Oklab.
    scale
        Factor on chroma; 1 leaves it, 0 is grey.
    bands
        Each acts with the weight ``cos²(90° d / width)`` at hue distance d < width. Where bands overlap
        their turns and lightness add and their scales multiply, in any order.

    Returns
    -------
    Oklab
        (..., 3) float32. Lightness is left alone but for a band's own ``lightness``.

    Examples
    --------
    >>> chroma(np.float32([[0.5, 0.1, 0.0]]), scale=1.5).round(3).tolist()
    [[0.5, 0.15000000596046448, 0.0]]
    """
    bands = tuple(bands)
    if scale == 1 and not bands:
        return lab
    L, a, b = np.moveaxis(lab, -1, 0)
    if not bands:
        return np.stack([L, a * np.float32(scale), b * np.float32(scale)], axis=-1)
    C, h = np.hypot(a, b), np.degrees(np.arctan2(b, a))
    turn, log_scale, lift = (np.zeros_like(C) for _ in range(3))
    for band in bands:
        weight = band_weight(h, hue=band.hue, width=band.width)
        turn += weight * band.turn
        log_scale += weight * np.log(max(band.scale, 1e-6))
        lift += weight * band.lightness
    h, C = np.radians(h + turn), C * np.exp(log_scale) * scale
    L = L + lift * np.clip(np.hypot(a, b) / NEUTRAL_CHROMA, 0, 1)
    return np.stack([L, C * np.cos(h), C * np.sin(h)], axis=-1).astype(np.float32)


def band_weight(hue_degrees: NDArray[Any], *, hue: float, width: float) -> NDArray[Any]:
    """Weight 0 … 1 of a band at given hues; smooth, 1 at its centre, 0 from ``width`` degrees off."""
    distance = np.abs((hue_degrees - hue + 180) % 360 - 180)
    return np.where(distance < width, np.cos(np.pi / 2 * np.minimum(distance / width, 1)) ** 2, 0)
