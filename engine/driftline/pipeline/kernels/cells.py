# mypy: disallow-untyped-defs=False, disallow-untyped-calls=False
# (numba finds the types of compiled functions out by itself)
"""Compiled cells of photosites, from sensor values; the reference is :mod:`driftline.stages.cells`."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB
from driftline.pipeline.kernels.compilation import compiled
from driftline.pipeline.kernels.linearise import Levels
from driftline.pipeline.kernels.tiles import run_tiles

_ROWS = 32


def cells(
    values: NDArray[Any],
    pattern: NDArray[np.uint8],
    levels: Levels | None,
    window: tuple[int, int, int, int],
    *,
    threads: int | None = None,
) -> CameraRGB:
    """As :func:`driftline.stages.cells.cells` does of a linearised mosaic, the same to the bit.

    Parameters
    ----------
    values, pattern, levels
        As for :func:`driftline.pipeline.kernels.demosaic.demosaic`.
    window
        (top, left, height, width) of the part that is taken; cells are counted from its corner.
    threads
        None for all processors.

    Returns
    -------
    CameraRGB
        (height // 2, width // 2, 3) float32.
    """
    levels = levels or Levels(np.zeros((2, 2), np.float32), np.ones((2, 2), np.float32))
    top, left, height, width = window
    out = np.empty((height // 2, width // 2, 3), np.float32)
    shifted = np.roll(pattern, (-top, -left), axis=(0, 1))
    places = np.array([np.argwhere(shifted == colour)[0] for colour in (0, 2)])
    greens = np.argwhere(shifted == 1)

    def rows(first: int, last: int, _left: int, _right: int) -> None:
        cell_rows(values, *levels, top, left, places, greens, first, last, out)

    run_tiles(rows, *out.shape[:2], tile_rows=_ROWS, tile_columns=out.shape[1], threads=threads)
    return out


@compiled
def sites(values, dark, factor, row, left, column, out):
    """Every other photosite of a row, linearised."""
    low, scale = dark[row % 2, (left + column) % 2], factor[row % 2, (left + column) % 2]
    source = values[row, left + column : left + column + 2 * out.size - 1]
    for i in range(out.size):
        out[i] = (np.float32(source[2 * i]) - low) * scale


@compiled
def between(near, far, forward, out):
    """Three parts of the nearer and one of the farther, down the rows and then along them."""
    three, share, n = np.float32(3), np.float32(1 / 16), out.size
    for i in range(n):
        near[i] = three * near[i] + far[i]
    if forward:
        beyond = near[1:]
        for i in range(n - 1):
            out[i] = (three * near[i] + beyond[i]) * share
        out[n - 1] = (three * near[n - 1] + near[n - 1]) * share
    else:
        own, line = near[1:], out[1:]
        for i in range(n - 1):
            line[i] = (three * own[i] + near[i]) * share
        out[0] = (three * near[0] + near[0]) * share


@compiled
def cell_rows(values, dark, factor, top, left, places, greens, first, last, out):
    """Rows ``first`` to ``last`` of the cells whose first photosite is at ``top``, ``left``."""
    rows, width = out.shape[0], out.shape[1]
    near, far, half = np.empty(width, np.float32), np.empty(width, np.float32), np.float32(0.5)
    lines = np.empty((3, width), np.float32)
    for row in range(first, last):
        at = top + 2 * row
        sites(values, dark, factor, at + greens[0, 0], left, greens[0, 1], near)
        sites(values, dark, factor, at + greens[1, 0], left, greens[1, 1], far)
        green = lines[1]
        for i in range(width):
            green[i] = half * (near[i] + far[i])
        for k in range(2):
            down, right = places[k, 0], places[k, 1]
            beyond = min(max(row + 1 - 2 * down, 0), rows - 1)
            sites(values, dark, factor, at + down, left, right, near)
            sites(values, dark, factor, top + 2 * beyond + down, left, right, far)
            between(near, far, right == 0, lines[2 * k])
        red, blue, whole = lines[0], lines[2], out[row].reshape(-1)
        for i in range(width):
            whole[3 * i], whole[3 * i + 1], whole[3 * i + 2] = red[i], green[i], blue[i]
