"""Filling gaps and smoothing on small grids, by sums and products in a fixed order."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Grid = NDArray[np.float32]


def pull_push(values: Grid, known: Grid, *, nothing: float) -> Grid:
    """Fill a grid where little or nothing is known, from what is known around, smoothly.

    Parameters
    ----------
    values
        (h, w, C) float32.
    known
        (h, w), 0 … 1, how much of each value counts.
    nothing
        Value of a grid of which nothing is known at all.

    Returns
    -------
    NDArray
        (h, w, C) float32; where ``known`` is 1 the value itself.

    Notes
    -----
    S. J. Gortler, R. Grzeszczuk, R. Szeliski & M. F. Cohen, "The Lumigraph", SIGGRAPH 1996, section 3.4:
    weighted means of 2 × 2 down to a single value, then blended up again.

    Examples
    --------
    >>> grid = np.float32([[[5], [0], [0], [0]]])
    >>> pull_push(grid, np.float32([[1, 0, 0, 0]]), nothing=1.0)[0, :, 0].tolist()
    [5.0, 5.0, 5.0, 5.0]
    """
    known = np.asarray(known, dtype=np.float32)
    if max(known.shape) == 1:
        return np.asarray(known[..., None] * values + (1 - known[..., None]) * np.float32(nothing))
    weight = known[..., None]
    total = _quarter(values * weight)
    whole = _quarter(weight)
    mean = np.asarray(total / np.maximum(whole, np.float32(1e-9)), dtype=np.float32)
    coarse = pull_push(mean, np.minimum(whole[..., 0], np.float32(1)), nothing=nothing)
    return np.asarray(weight * values + (1 - weight) * doubled(coarse, known.shape), dtype=np.float32)


def smooth(grid: Grid) -> Grid:
    """Binomial 1 2 1 along both axes, edges repeated.

    Parameters
    ----------
    grid
        (h, w, C) float32.

    Examples
    --------
    >>> smooth(np.float32([[[0], [4], [0]]]))[0, :, 0].tolist()
    [1.0, 2.0, 1.0]
    """
    for axis in (0, 1):
        before, after = _shifted(grid, 1, axis), _shifted(grid, -1, axis)
        grid = (before + after) * np.float32(0.25) + grid * np.float32(0.5)
    return grid


def smooth_wider(grid: Grid) -> Grid:
    """Binomial 1 4 6 4 1 along both axes, edges repeated.

    Examples
    --------
    >>> smooth_wider(np.float32([[[0], [0], [16], [0], [0]]]))[0, :, 0].tolist()
    [1.0, 4.0, 6.0, 4.0, 1.0]
    """
    for axis in (0, 1):
        near = _shifted(grid, 1, axis) + _shifted(grid, -1, axis)
        far = _shifted(grid, 2, axis) + _shifted(grid, -2, axis)
        grid = grid * np.float32(0.375) + near * np.float32(0.25) + far * np.float32(0.0625)
    return grid


def blurred(grid: Grid, *, halvings: int) -> Grid:
    """Smooth on a grid halved so many times; edges repeated.

    Parameters
    ----------
    grid
        (h, w, C) float32.
    halvings
        Each doubles the reach.

    Examples
    --------
    >>> blurred(np.full((5, 3, 1), 2, np.float32), halvings=2)[4, 0].tolist()
    [2.0]
    """
    if halvings == 0:
        return smooth(smooth(grid))
    return smooth(doubled(blurred(halved(grid), halvings=halvings - 1), grid.shape))


def halved(grid: Grid) -> Grid:
    """Means of 2 × 2; an odd edge is repeated.

    Examples
    --------
    >>> halved(np.float32([[[1], [3], [5]]]))[0, :, 0].tolist()
    [2.0, 5.0]
    """
    even = np.pad(grid, ((0, grid.shape[0] % 2), (0, grid.shape[1] % 2), (0, 0)), mode="edge")
    return _quarter(even) * np.float32(0.25)


def doubled(grid: Grid, shape: tuple[int, ...]) -> Grid:
    """Bilinear, twice as large, cut to a shape; edges repeated.

    Examples
    --------
    >>> doubled(np.float32([[[0], [4]]]), (1, 4))[0, :, 0].tolist()
    [0.0, 1.0, 3.0, 4.0]
    """
    for axis in (0, 1):
        before, after = _shifted(grid, 1, axis), _shifted(grid, -1, axis)
        halves = [grid * np.float32(0.75) + side * np.float32(0.25) for side in (before, after)]
        grid = np.stack(halves, axis=axis + 1).reshape(
            *(size * (2 if at == axis else 1) for at, size in enumerate(grid.shape))
        )
    return grid[: shape[0], : shape[1]]


def _quarter(grid: Grid) -> Grid:
    """Sums of 2 × 2; beyond an odd edge there is nothing."""
    grid = np.pad(grid, ((0, grid.shape[0] % 2), (0, grid.shape[1] % 2), (0, 0)))
    return np.asarray((grid[::2, ::2] + grid[::2, 1::2]) + (grid[1::2, ::2] + grid[1::2, 1::2]))


def _shifted(grid: NDArray[Any], by: int, axis: int) -> NDArray[Any]:
    """The neighbour before (1) or after (-1), the edge repeated."""
    places = np.arange(grid.shape[axis]) - by
    return np.take(grid, np.clip(places, 0, grid.shape[axis] - 1), axis)
