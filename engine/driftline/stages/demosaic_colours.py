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

from driftline.stages.demosaic_weights import radius_that_holds

Plane = NDArray[np.float32]

STEADINESS = 0.01
"""Variance of encoded green at which the slope found and a slope of 1 count alike."""

FEWEST = 6
"""Photosites of the colour from which a slope is found, at least."""

BILINEAR = np.array([0.5, 1.0, 0.5])


def slopes_against_green(
    mosaic: Plane, green: Plane, own: NDArray[np.bool_], pattern: NDArray[Any]
) -> tuple[Plane, Plane]:
    """How a colour varies with green around each of its photosites.

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
    tuple
        (H, W) slope, and (H, W) colour less slope times green; both mean something at ``own`` only.
    """
    window = np.ones(2 * slope_radius(pattern) + 1)
    present = own.astype(np.float32)

    def mean(plane: Plane) -> Plane:
        return np.asarray(_sum(plane * present, window) / _sum(present, window), dtype=np.float32)

    level, light = mean(mosaic), mean(green)
    common = mean(mosaic * green) - level * light
    spread = mean(green * green) - light * light
    steady = np.float32(STEADINESS)
    slope = np.asarray((common + steady) / (spread + steady), dtype=np.float32)
    return slope, mosaic - slope * green


def follow_green(
    mosaic: Plane, green: Plane, own: NDArray[np.bool_], pattern: NDArray[Any]
) -> tuple[Plane, Plane]:
    """One colour of a 2 × 2 pattern less green; slopes and remainders are interpolated bilinearly.

    Parameters
    ----------
    mosaic, green, own, pattern
        As for :func:`slopes_against_green`.

    Returns
    -------
    tuple
        (H, W) difference, and (H, W) slope of the colour against green; both worthless within
        ``slope_radius + 1`` of the edges.
    """
    slope, rest = slopes_against_green(mosaic, green, own, pattern)
    present = own.astype(np.float32)
    weight = _sum(present, BILINEAR)
    slopes, rests = (_sum(plane * present, BILINEAR) / weight for plane in (slope, rest))
    return np.where(own, mosaic, slopes * green + rests) - green, np.where(own, slope, slopes)


def slope_radius(pattern: NDArray[Any]) -> int:
    """Radius of the smallest square that holds enough red and blue photosites wherever it lies."""
    return radius_that_holds(FEWEST, pattern, (0, 2))


def _sum(plane: NDArray[Any], taps: NDArray[np.float64]) -> Plane:
    from scipy import ndimage  # noqa: PLC0415  loaded where it is needed

    across = ndimage.correlate1d(plane, taps, axis=1, mode="nearest")
    return np.asarray(ndimage.correlate1d(across, taps, axis=0, mode="nearest"), dtype=np.float32)
