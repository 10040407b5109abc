"""Demosaicking of any repeating pattern with all three colours: normalised convolution.

Green first, by a weighted mean of the greens around; then red and blue as weighted means of their difference
to green. Knutsson & Westin, "Normalized and differential convolution", CVPR 1993.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

Plane = NDArray[np.float32]


def interpolate(encoded: Plane, pattern: NDArray[Any]) -> NDArray[np.float32]:
    """Interpolate an encoded (H, W) mosaic to (H, W, 3)."""
    height, width = encoded.shape
    p, q = pattern.shape
    colour = np.tile(pattern, (-(-height // p), -(-width // q)))[:height, :width]
    green = _fill(encoded, colour == 1, reach=1.0)
    planes = [green]
    for wanted in (0, 2):
        present = colour == wanted
        planes.append(np.where(present, encoded, green + _fill(encoded - green, present, reach=1.3)))
    return np.stack([planes[1], planes[0], planes[2]], axis=-1).astype(np.float32)


def _fill(plane: Plane, present: NDArray[np.bool_], *, reach: float) -> Plane:
    """Keep what is present, fill the rest with a Gaussian-weighted mean of what is around."""
    filled = np.where(present, plane, 0).astype(np.float32)
    known = present.astype(np.float32)
    result = filled.copy()
    while not known.all():
        weight = ndimage.gaussian_filter(known, reach, mode="reflect")
        total = ndimage.gaussian_filter(filled, reach, mode="reflect")
        good = (weight > 1e-3) & (known == 0)
        result[good] = total[good] / weight[good]
        if good.any() and (known.astype(bool) | good).all():
            break
        reach *= 1.5
    return result
