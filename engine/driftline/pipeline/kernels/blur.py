# mypy: disallow-untyped-defs=False, disallow-untyped-calls=False
# (numba finds the types of compiled functions out by itself)
"""Compiled Gaussian blur of one plane; the reference is ``scipy.ndimage.gaussian_filter``."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from driftline.pipeline.kernels.compilation import compiled

Plane = NDArray[np.float32]


def blur(plane: Plane, sigma: float, *, truncate: float = 3.0) -> Plane:
    """Blur a plane with a Gaussian; beyond an edge the plane goes on as it is at the edge.

    Parameters
    ----------
    plane
        (h, w) float32.
    sigma
        Standard deviation, in pixels.
    truncate
        How many of them the filter reaches.

    Returns
    -------
    NDArray
        (h, w) float32, within rounding of ``scipy.ndimage.gaussian_filter`` with ``mode="nearest"``.

    Examples
    --------
    >>> step = np.float32([[0, 0, 0, 1, 1, 1]])
    >>> [round(float(x), 2) for x in blur(step, 1.0)[0, 1:5]]
    [0.06, 0.3, 0.7, 0.94]
    """
    out = np.empty(plane.shape, np.float32)
    blur_rows(np.ascontiguousarray(plane), half_of_taps(sigma, truncate), out)
    return out


@lru_cache(maxsize=32)
def half_of_taps(sigma: float, truncate: float) -> NDArray[np.float32]:
    """Weights from the middle outwards; all of them, both sides, add up to 1."""
    at = np.arange(int(truncate * sigma + 0.5) + 1)
    weights = np.exp(-0.5 * (at / sigma) ** 2)
    return np.asarray(weights / (2 * weights.sum() - weights[0]), np.float32)


@compiled
def blur_rows(plane, taps, out):
    """Each row: first over the rows around it, then along it."""
    height, width = plane.shape
    reach = taps.size - 1
    wide = np.empty(width + 2 * reach, np.float32)
    for row in range(height):
        inner = wide[reach : reach + width]
        weigh(plane[row], taps[0], inner)
        for k in range(1, taps.size):
            add_pair(plane[max(row - k, 0)], plane[min(row + k, height - 1)], taps[k], inner)
        for k in range(reach):
            wide[k] = wide[reach]
            wide[reach + width + k] = wide[reach + width - 1]
        weigh(inner, taps[0], out[row])
        for k in range(1, taps.size):
            before, behind = wide[reach - k : reach - k + width], wide[reach + k : reach + k + width]
            add_pair(before, behind, taps[k], out[row])


@compiled
def weigh(source, weight, total):
    """Set a weighted row."""
    for i in range(total.size):
        total[i] = weight * source[i]


@compiled
def add_pair(one, other, weight, total):
    """Add two rows of one weight."""
    for i in range(total.size):
        total[i] += weight * (one[i] + other[i])
