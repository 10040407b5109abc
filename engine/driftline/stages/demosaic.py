"""Demosaicking: one value a photosite becomes three, on an encoded mosaic.

Interpolation takes colour differences for smooth. That holds better in a square-root-like encoding than in
linear light, and there photon noise is equally strong everywhere; so the mosaic is encoded, interpolated and
decoded again. Nothing is clipped on the way.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB, Mosaic
from driftline.stages import demosaic_cokriging, demosaic_two_by_two
from driftline.stages.demosaic_margin import colours_of, pad

NOISE_FLOOR = 0.002
"""Linear value around which the encoding turns from a straight line into a root."""

BEND = 0.5
"""Share of the fourth root in the encoding: between a square root and the eye's response."""


def demosaic(mosaic: Mosaic, pattern: NDArray[Any], *, noise_floor: float = NOISE_FLOOR) -> CameraRGB:
    """Interpolate a mosaic to three values a pixel.

    Parameters
    ----------
    mosaic
        (H, W) float32, linear, balanced; 0 black, 1 where green clips; may exceed 1 and fall below 0.
        H and W at least 2, and at least the pattern's period.
    pattern
        (p, q) colour of each photosite, 0 red, 1 green, 2 blue; ``pattern[0, 0]`` lies at ``mosaic[0, 0]``.
        Any repeating pattern that holds all three colours.
    noise_floor
        Linear value, typically 0.001 … 0.01: the variance of the read noise over that of photon noise at 1.

    Returns
    -------
    CameraRGB
        (H, W, 3) float32, linear; each photosite keeps the value it measured.

    Notes
    -----
    Patterns of 2 × 2 with green on a diagonal go to :mod:`driftline.stages.demosaic_two_by_two`, all others
    to :mod:`driftline.stages.demosaic_cokriging`.

    Examples
    --------
    >>> pattern = np.array([[0, 1], [1, 2]])
    >>> mosaic = np.tile(np.float32([[0.2, 0.5], [0.5, 0.1]]), (4, 4))
    >>> [round(float(value), 5) for value in demosaic(mosaic, pattern)[3, 4]]
    [0.2, 0.5, 0.1]
    """
    pattern = np.asarray(pattern)
    method: Any = demosaic_two_by_two if demosaic_two_by_two.applies_to(pattern) else demosaic_cokriging
    margin = method.margin_of(pattern)
    padded = encode(pad(mosaic, pattern, margin), noise_floor)
    rgb = method.interpolate(padded, colours_of(pattern, padded.shape, margin), pattern)
    height, width = mosaic.shape
    out = decode(rgb[margin : margin + height, margin : margin + width], noise_floor)
    own = colours_of(pattern, mosaic.shape)[..., None]
    np.put_along_axis(out, own, np.asarray(mosaic, dtype=np.float32)[..., None], axis=2)
    return out


def encode(linear: NDArray[Any], noise_floor: float) -> NDArray[np.float32]:
    """Root-like encoding with a finite slope at zero, odd about zero.

    Parameters
    ----------
    linear
        Any shape.
    noise_floor
        Above 0.

    Returns
    -------
    NDArray
        float32, ``s + s**0.5 / 2`` of ``s = (|linear| + noise_floor)**0.5``, less its value at 0.
    """
    floor, bend = np.float32(noise_floor), np.float32(BEND)
    root = np.sqrt(np.abs(np.asarray(linear, dtype=np.float32)) + floor)
    size = root + bend * np.sqrt(root) - at_zero(noise_floor)
    return np.asarray(np.copysign(size, linear), dtype=np.float32)


def decode(encoded: NDArray[np.float32], noise_floor: float) -> NDArray[np.float32]:
    """Undo :func:`encode`, by the quadratic formula."""
    half = np.float32(BEND / 2)
    fourth = np.sqrt(np.abs(encoded) + (half * half + at_zero(noise_floor))) - half
    square = fourth * fourth
    size = square * square - np.float32(noise_floor)
    return np.asarray(np.copysign(size, encoded), dtype=np.float32)


def at_zero(noise_floor: float) -> np.float32:
    """Encoding of 0, before it is moved to 0."""
    root = np.sqrt(noise_floor)
    return np.float32(root + BEND * np.sqrt(root))
