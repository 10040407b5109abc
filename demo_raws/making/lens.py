"""A lens: radial distortion and falloff, on planes of an ideal pinhole picture.

A point at radius r (1 at the corner) of the ideal picture lands at r (1 + k r²); barrel is k < 0.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter, map_coordinates

Array = NDArray[np.float64]


_SOFTNESS_PX = 0.45  # diffraction, aberrations and the low-pass filter before the sensor


@dataclass(frozen=True)
class Lens:
    """Name, focal length in mm and for 36 × 24 mm, distortion k, falloff at the corner in EV, veiling glare.

    Glare is the share of light that is strewn about the picture by glass and barrel.
    """

    name: str
    focal_length: float
    focal_35mm: int
    distortion: float
    falloff_ev: float
    glare: float = 0.02


WIDE = Lens("K 18 mm", 18.0, 27, -0.016, -0.55)
MIDDLE = Lens("K 35 mm", 35.0, 53, -0.006, -0.35)
REPRO = Lens("K 60 mm", 60.0, 90, 0.0, 0.0, 0.0)


def _radii(shape: tuple[int, ...]) -> tuple[Array, Array, Array]:
    """Row and column offsets from the centre in half diagonals, and the radius."""
    height, width = shape[:2]
    half = np.hypot(height, width) / 2
    y = (np.arange(height)[:, None] - (height - 1) / 2) / half
    x = (np.arange(width)[None, :] - (width - 1) / 2) / half
    y, x = np.broadcast_arrays(y, x)
    return y, x, np.hypot(y, x)


def scaled(picture: Array, factor: Array, order: int = 3) -> Array:
    """Sample a picture at its centre-relative coordinates times ``factor`` (H, W)."""
    y, x, _ = _radii(picture.shape)
    height, width = picture.shape[:2]
    half = np.hypot(height, width) / 2
    where = np.stack((y * factor * half + (height - 1) / 2, x * factor * half + (width - 1) / 2))
    layers = [
        map_coordinates(layer, where, order=order, mode="nearest") for layer in np.moveaxis(picture, -1, 0)
    ]
    return np.stack(layers, axis=-1)


_HALOS = ((0.35, 1 / 400), (0.30, 1 / 90), (0.35, 1 / 18))  # share of the glare, width in long edges


def _with_glare(planes: Array, glare: float) -> Array:
    """Planes with a part of their light strewn in three halos, narrow to wide."""
    if not glare:
        return planes
    long_edge = max(planes.shape[:2])
    halos = sum(
        share
        * gaussian_filter(planes, (width * long_edge, width * long_edge, 0), mode="nearest", truncate=3.0)
        for share, width in _HALOS
    )
    return np.asarray((1 - glare) * planes + glare * halos)


def through(lens: Lens, planes: Array) -> Array:
    """Planes as the lens draws them; a barrel lens looks a little wider, so the picture is zoomed to fit."""
    _, _, radius = _radii(planes.shape)
    ideal = radius.copy()
    for _ in range(8):
        ideal = radius / (1 + lens.distortion * ideal**2)
    fit = 1 + min(lens.distortion, 0.0)  # the corner of the drawn picture stays inside the ideal one
    factor = np.divide(ideal, radius, out=np.ones_like(radius), where=radius > 0) * fit
    drawn = scaled(planes, factor, order=1) if lens.distortion else planes
    drawn = gaussian_filter(_with_glare(drawn, lens.glare), (_SOFTNESS_PX, _SOFTNESS_PX, 0))
    return np.asarray(np.clip(drawn, 0, None) * 2 ** (lens.falloff_ev * radius**2)[..., None])
