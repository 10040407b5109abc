"""Red and blue from a finished green: each follows green by a slope found around each of its photosites.

The idea is that of residual interpolation (Kiku, Monno, Tanaka & Okutomi, "Residual interpolation for color
image demosaicking", ICIP 2013): where a colour does not vary as green does, their plain difference is a bad
thing to interpolate. Departures: the slope is drawn to 1 where green hardly varies, and slopes and remainders
are interpolated from the colour's own photosites, without a guided filter over the whole plane.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Plane = NDArray[np.float32]

STEADINESS = 0.01
"""Variance of encoded green at which the slope found and a slope of 1 count alike."""

FEWEST = 6
"""Photosites of the colour from which a slope is found, at least."""


def follow_green(mosaic: Plane, green: Plane, own: NDArray[np.bool_], pattern: NDArray[Any]) -> Plane:
    """One colour at every photosite.

    Parameters
    ----------
    mosaic, green
        (H, W) encoded values; green at every photosite.
    own
        (H, W) where the mosaic holds the colour.
    pattern
        (p, q) of 0 red, 1 green, 2 blue.

    Returns
    -------
    NDArray
        (H, W) float32; unreliable within :func:`reach` of the edges.
    """
    window = np.ones(2 * slope_radius(pattern) + 1)
    present = own.astype(np.float32)

    def mean(plane: Plane) -> Plane:
        return _sum(plane * present, window) / _sum(present, window)

    level, light = mean(mosaic), mean(green)
    common = mean(mosaic * green) - level * light
    spread = mean(green * green) - light * light
    slope = (common + np.float32(STEADINESS)) / (spread + np.float32(STEADINESS))
    taps = interpolation_taps(pattern)
    weight = _sum(present, taps)
    slopes = _sum(slope * present, taps) / weight
    rest = _sum((mosaic - slope * green) * present, taps) / weight
    return np.where(own, mosaic, slopes * green + rest)


def reach(pattern: NDArray[Any]) -> int:
    """How many photosites away a value may still count."""
    return slope_radius(pattern) + interpolation_taps(pattern).size // 2


def slope_radius(pattern: NDArray[Any]) -> int:
    """Radius of the smallest square that holds enough red and blue photosites wherever it lies."""
    return next(r for r in range(1, 99) if min(_fewest(pattern, r)) >= FEWEST)


def interpolation_taps(pattern: NDArray[Any]) -> NDArray[np.float64]:
    """Bilinear for 2 × 2 patterns; else a Gaussian as wide as the rarer colour is sparse. Along each axis."""
    if pattern.shape == (2, 2):
        return np.array([0.5, 1.0, 0.5])
    share = min(np.mean(pattern == colour) for colour in (0, 2))
    sigma = 0.47 / np.sqrt(share)
    radius = max(int(np.ceil(2.8 * sigma)), next(r for r in range(1, 99) if min(_fewest(pattern, r)) >= 1))
    return np.asarray(np.round(np.exp(-0.5 * (np.arange(-radius, radius + 1) / sigma) ** 2), 6))


def _fewest(pattern: NDArray[Any], radius: int) -> list[int]:
    """Photosites of red and of blue in the square that holds fewest."""
    counts = []
    for colour in (0, 2):
        present = (pattern == colour).astype(np.int64)
        for axis in (0, 1):
            present = sum(np.roll(present, step, axis) for step in range(-radius, radius + 1))
        counts.append(int(present.min()))
    return counts


def _sum(plane: NDArray[Any], taps: NDArray[np.float64]) -> Plane:
    across = ndimage.correlate1d(plane, taps, axis=1, mode="nearest")
    return np.asarray(ndimage.correlate1d(across, taps, axis=0, mode="nearest"), dtype=np.float32)
