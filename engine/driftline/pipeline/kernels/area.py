# mypy: disallow-untyped-defs=False, disallow-untyped-calls=False
# (numba finds the types of compiled functions out by itself)
"""Compiled resizing by area in linear light; the reference is :mod:`driftline.stages.resize`."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.pipeline.kernels.compilation import compiled
from driftline.pipeline.kernels.tiles import run_tiles
from driftline.stages.resize import weights

_ROWS = 16


def resize(
    rgb: NDArray[np.float32], *, height: int, width: int, threads: int | None = None
) -> NDArray[np.float32]:
    """Scale a linear picture (H, W, C) as :func:`driftline.stages.resize.resize` does."""
    if rgb.shape[:2] == (height, width):
        return rgb
    return _laid_out(np.ascontiguousarray(rgb), None, height, width, threads)


def light_of_codes(
    codes: NDArray[np.uint8],
    table: NDArray[np.float32],
    *,
    height: int,
    width: int,
    threads: int | None = None,
) -> NDArray[np.float32]:
    """Scale 8-bit code values in the light they stand for.

    Parameters
    ----------
    codes
        (H, W, 3) uint8.
    table
        (256,) the linear light of each code.
    height, width
        Size wanted, in pixels.
    threads
        None for all processors.

    Returns
    -------
    NDArray
        (height, width, 3) float32 linear light.
    """
    return _laid_out(np.ascontiguousarray(codes), table, height, width, threads)


def _laid_out(
    picture: NDArray[Any], table: NDArray[np.float32] | None, height: int, width: int, threads: int | None
) -> NDArray[np.float32]:
    down, across = (weights(picture.shape[axis], size) for axis, size in ((0, height), (1, width)))
    channels = picture.shape[2]
    flat = picture.reshape(picture.shape[0], -1)
    out = np.empty((height, width, channels), np.float32)

    def rows(top: int, bottom: int, left: int, right: int) -> None:
        del left, right
        if table is None:
            room = np.empty(flat.shape[1], np.float32)
            average_rows(flat, *_parts(down), *_parts(across), channels, top, bottom, room, out)
        else:
            average_codes(flat, table, *_parts(down), *_parts(across), channels, top, bottom, out)

    run_tiles(rows, height, width, tile_rows=_ROWS, tile_columns=width, threads=threads)
    return out


def _parts(sparse: Any) -> tuple[NDArray[np.int32], NDArray[np.int32], NDArray[np.float32]]:
    return sparse.indptr, sparse.indices, sparse.data


@compiled
def average_rows(flat, down_at, down_from, down_by, at, columns, by, channels, top, bottom, room, out):
    """Rows ``top`` to ``bottom`` of the result: first over the rows that each covers, then along them."""
    for row in range(top, bottom):
        for i in range(room.size):
            room[i] = np.float32(0)
        for k in range(down_at[row], down_at[row + 1]):
            add(flat[down_from[k]], down_by[k], room)
        along(room, at, columns, by, channels, out[row])


@compiled
def average_codes(
    flat,
    table,
    down_at,
    down_from,
    down_by,
    at,
    columns,
    by,
    channels,
    top,
    bottom,
    out,
):
    """As :func:`average_rows`, of code values; first along the rows, each of which is looked up once."""
    first = down_from[down_at[top]]
    rows = down_from[down_at[bottom] - 1] + 1 - first
    short = np.empty((rows, out.shape[1] * channels), np.float32)
    for row in range(rows):
        along_codes(flat[first + row], table, at, columns, by, short[row])
    for row in range(top, bottom):
        total = out[row].reshape(-1)
        total[:] = np.float32(0)
        for k in range(down_at[row], down_at[row + 1]):
            add(short[down_from[k] - first], down_by[k], total)


@compiled
def along_codes(codes, table, at, columns, by, out):
    """Average a row of three channels of code values over the columns that each of the result's covers."""
    for column in range(at.size - 1):
        red, green, blue = np.float32(0), np.float32(0), np.float32(0)
        for k in range(at[column], at[column + 1]):
            x, share = 3 * columns[k], by[k]
            red += share * table[codes[x]]
            green += share * table[codes[x + 1]]
            blue += share * table[codes[x + 2]]
        out[3 * column], out[3 * column + 1], out[3 * column + 2] = red, green, blue


@compiled
def add(source, weight, total):
    """Add a weighted row."""
    for i in range(total.size):
        total[i] += weight * source[i]


@compiled
def along(row, at, columns, by, channels, out):
    """Average one row over the columns that each of the result's covers."""
    if channels == 3:
        for column in range(out.shape[0]):
            red, green, blue = np.float32(0), np.float32(0), np.float32(0)
            for k in range(at[column], at[column + 1]):
                x, share = 3 * columns[k], by[k]
                red += share * row[x]
                green += share * row[x + 1]
                blue += share * row[x + 2]
            out[column, 0], out[column, 1], out[column, 2] = red, green, blue
        return
    for column in range(out.shape[0]):
        for channel in range(channels):
            total = np.float32(0)
            for k in range(at[column], at[column + 1]):
                total += by[k] * row[columns[k] * channels + channel]
            out[column, channel] = total
