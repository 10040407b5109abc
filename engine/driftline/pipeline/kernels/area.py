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
ONE, TWO, THREE = np.uint64(1), np.uint64(2), np.uint64(3)
"""Places without a sign need no test of whether they count from the end."""


def resize(
    rgb: NDArray[np.float32], *, height: int, width: int, threads: int | None = None
) -> NDArray[np.float32]:
    """Scale a linear picture (H, W, C) as :func:`driftline.stages.resize.resize` does."""
    if rgb.shape[:2] == (height, width):
        return rgb
    flat, asked = _laid_out(rgb, height, width)
    out = np.empty((height, width, rgb.shape[2]), np.float32)

    def rows(top: int, bottom: int, left: int, right: int) -> None:
        del left, right
        room = np.empty(flat.shape[1], np.float32)
        average_rows(flat, *asked, rgb.shape[2], top, bottom, room, out)

    run_tiles(rows, height, width, tile_rows=_ROWS, tile_columns=width, threads=threads)
    return out


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
        (height, width, 3) float32 linear light; it lies in memory plane by plane.
    """
    flat, asked = _laid_out(codes, height, width)
    planes = np.empty((3, height, width), np.float32)

    def rows(top: int, bottom: int, left: int, right: int) -> None:
        del left, right
        average_codes(flat, table, *asked, top, bottom, planes)

    run_tiles(rows, height, width, tile_rows=_ROWS, tile_columns=width, threads=threads)
    return planes.transpose(1, 2, 0)


def _laid_out(picture: NDArray[Any], height: int, width: int) -> tuple[NDArray[Any], list[NDArray[Any]]]:
    """The rows of a picture, and which of them, and of their columns, each of the result's covers."""
    down, across = (weights(picture.shape[axis], size) for axis, size in ((0, height), (1, width)))
    return np.ascontiguousarray(picture).reshape(len(picture), -1), [*_parts(down), *_parts(across)]


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
    top,
    bottom,
    planes,
):
    """As :func:`average_rows`, of code values; first along the rows, each of which is looked up once."""
    first = down_from[down_at[top]]
    rows = down_from[down_at[bottom] - 1] + 1 - first
    short = np.empty((rows, 3, planes.shape[2]), np.float32)
    for row in range(rows):
        along_codes(flat[first + row], table, at, columns, by, short[row])
    for plane in range(3):
        for row in range(top, bottom):
            total = planes[plane, row]
            total[:] = np.float32(0)
            for k in range(down_at[row], down_at[row + 1]):
                add(short[down_from[k] - first, plane], down_by[k], total)


@compiled
def along_codes(codes, table, at, columns, by, out):
    """Average a row of three channels of code values over the columns that each of the result's covers."""
    for column in range(at.size - 1):
        red, green, blue = np.float32(0), np.float32(0), np.float32(0)
        for k in range(at[column], at[column + 1]):
            x, share = THREE * np.uint64(columns[k]), by[k]
            red += share * table[codes[x]]
            green += share * table[codes[x + ONE]]
            blue += share * table[codes[x + TWO]]
        out[0, column], out[1, column], out[2, column] = red, green, blue


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
                x, share = THREE * np.uint64(columns[k]), by[k]
                red += share * row[x]
                green += share * row[x + ONE]
                blue += share * row[x + TWO]
            out[column, 0], out[column, 1], out[column, 2] = red, green, blue
        return
    for column in range(out.shape[0]):
        for channel in range(channels):
            total = np.float32(0)
            for k in range(at[column], at[column + 1]):
                total += by[k] * row[columns[k] * channels + channel]
            out[column, channel] = total
