"""Demosaicking: one value a photosite becomes three, on an encoded mosaic.

The interpolation assumes that colour differences are smooth. That holds better in a square-root-like
encoding than in linear light (and there photon noise is equally strong everywhere), so the mosaic is encoded,
interpolated, and decoded again. Nothing is clipped on the way.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB, Mosaic
from driftline.stages import demosaic_any, demosaic_two_by_two

NOISE_FLOOR = 0.004


def demosaic(mosaic: Mosaic, pattern: NDArray[Any], *, noise_floor: float = NOISE_FLOOR) -> CameraRGB:
    """Interpolate a mosaic to three values a pixel.

    Parameters
    ----------
    mosaic
        (H, W) float32, linear, balanced; 0 black, 1 where green clips; may exceed 1 and fall below 0.
    pattern
        (p, q) colour of each photosite, 0 red, 1 green, 2 blue; ``pattern[0, 0]`` lies at ``mosaic[0, 0]``.
    noise_floor
        Linear value (typically 0.001 … 0.01) around which the encoding turns from a square root into a
        straight line: read noise squared over shot noise.

    Returns
    -------
    CameraRGB
        (H, W, 3) float32, linear; each photosite keeps its own colour's value, to rounding.
    """
    encoded = encode(mosaic, noise_floor)
    if demosaic_two_by_two.applies_to(pattern):
        rgb = demosaic_two_by_two.interpolate(encoded, pattern)
    else:
        rgb = demosaic_any.interpolate(encoded, pattern)
    return decode(rgb, noise_floor)


def encode(linear: NDArray[Any], noise_floor: float) -> NDArray[np.float32]:
    """Square-root encoding with a finite slope at zero, odd about zero."""
    size = np.abs(np.asarray(linear, dtype=np.float32))
    floor = np.float32(noise_floor)
    return np.asarray(np.copysign(np.sqrt(size + floor) - np.sqrt(floor), linear), dtype=np.float32)


def decode(encoded: NDArray[np.float32], noise_floor: float) -> NDArray[np.float32]:
    """Undo :func:`encode`."""
    root = np.sqrt(np.float32(noise_floor))
    size = np.abs(encoded)
    return np.asarray(np.copysign(size * (size + 2 * root), encoded), dtype=np.float32)
