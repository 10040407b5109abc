"""Smooth shapes that coats and heads are made of: lofts through sections, curves through points."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import CubicSpline, PchipInterpolator

Array = NDArray[np.float64]
Sections = Sequence[tuple[float, float, float, float]]  # height, half width, half depth, shift in y


def loft(sections: Sections, heights: Array) -> tuple[Array, Array, Array]:
    """Half width, half depth and shift in y at heights, smooth between sections."""
    table = np.asarray(sections)
    smooth = PchipInterpolator(table[:, 0], table[:, 1:])(heights)
    return smooth[..., 0], smooth[..., 1], smooth[..., 2]


def bent(points: Sequence[ArrayLike], count: int = 17) -> Array:
    """Points along a smooth curve through a few."""
    through = np.array([np.asarray(point, dtype=float) for point in points])
    reach = np.concatenate(([0], np.cumsum(np.linalg.norm(np.diff(through, axis=0), axis=1))))
    return np.asarray(CubicSpline(reach, through)(np.linspace(0, reach[-1], count)))
