# mypy: disallow-untyped-defs=False, disallow-untyped-calls=False
# (numba finds the types of compiled functions out by itself)
"""Compiled rebuilding of highlights; the reference is :mod:`driftline.stages.highlights`.

Gathering and lifting are compiled; spreading colour on the small grid of blocks is the reference's own.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB
from driftline.pipeline.kernels.compilation import compiled
from driftline.pipeline.kernels.tiles import TILE_ROWS, run_tiles
from driftline.stages import highlights as reference

STRETCH = 256
"""Pixels of a row that are looked at together."""


class Surroundings(NamedTuple):
    """Colour around every place of a picture, and how far it fades where all is lost."""

    grid: NDArray[np.float32]
    """(h, w, 4) of blocks; see :func:`driftline.stages.highlights.spread`."""

    block: int
    """Pixels along the side of a block, in the picture that they were gathered from."""


def rebuild(
    rgb: CameraRGB, *, clip: NDArray[Any], threads: int | None = None, tile_rows: int = TILE_ROWS
) -> CameraRGB:
    """Rebuild clipped highlights as :func:`driftline.stages.highlights.rebuild` does, in place.

    Parameters
    ----------
    rgb, clip
        As there; ``rgb`` itself is changed and given back.
    threads, tile_rows
        How the work is cut up; the result is the same to the bit.
    """
    rgb = np.ascontiguousarray(rgb, dtype=np.float32)
    around = surroundings(rgb, clip=clip, threads=threads, tile_rows=tile_rows)
    lift_all(rgb, around, clip=clip, threads=threads, tile_rows=tile_rows)
    return rgb


def surroundings(
    rgb: CameraRGB, *, clip: NDArray[Any], threads: int | None = None, tile_rows: int = TILE_ROWS
) -> Surroundings:
    """What the unclipped parts of a picture say about the colour of its clipped ones.

    Parameters
    ----------
    rgb, clip, threads, tile_rows
        As for :func:`rebuild`.
    """
    levels = np.asarray(clip, dtype=np.float32)
    height, width = rgb.shape[:2]
    step = reference.step_of(rgb.shape)
    block = reference.SAMPLES * step
    grid = -(-height // block), -(-width // block)
    colour, weight, lost = (np.zeros((*grid, n), np.float32) for n in (3, 1, 1))
    weighing = np.array(
        [reference.START, reference.DARKEST, reference.BOLDEST, reference.TAINTED], dtype=np.float32
    )

    def look(top: int, bottom: int, left: int, right: int) -> None:
        gather_rows(rgb, levels, weighing, step, block, top, bottom, colour, weight, lost)

    rows = -(-tile_rows // block) * block
    run_tiles(look, height, width, tile_rows=rows, tile_columns=width, threads=threads)
    spread = reference.spread(colour, weight[..., 0], lost[..., 0])
    return Surroundings(np.ascontiguousarray(spread), block)


def lift(
    rgb: CameraRGB,
    around: Surroundings,
    *,
    clip: NDArray[Any],
    at: tuple[int, int] = (0, 0),
    scale: int = 1,
) -> None:
    """Raise the clipped channels of a part of a picture, in place.

    Parameters
    ----------
    rgb
        (h, w, 3) float32.
    around
        Of the picture.
    clip
        As for :func:`rebuild`.
    at
        Row and column of the picture where the part begins.
    scale
        Pixels of the picture for one of those that the surroundings were gathered from.
    """
    levels = np.asarray(clip, dtype=np.float32)
    raising = np.array([reference.START, 1 - reference.START, reference.HIGHEST * levels.max()], np.float32)
    limits = np.tile(np.float32(reference.START) * levels, STRETCH)
    lift_rows(rgb, around.grid, limits, levels, raising, np.float32(1 / (scale * around.block)), *at)


def lift_all(
    rgb: CameraRGB,
    around: Surroundings,
    *,
    clip: NDArray[Any],
    at: tuple[int, int] = (0, 0),
    scale: int = 1,
    threads: int | None = None,
    tile_rows: int = TILE_ROWS,
) -> None:
    """As :func:`lift`, in threads."""

    def rows(top: int, bottom: int, _left: int, _right: int) -> None:
        lift(rgb[top:bottom], around, clip=clip, at=(at[0] + top, at[1]), scale=scale)

    run_tiles(rows, *rgb.shape[:2], tile_rows=tile_rows, tile_columns=rgb.shape[1], threads=threads)


@compiled
def gather_rows(rgb, levels, settings, step, block, top, bottom, colour, weight, lost):
    """What the blocks of some rows know."""
    start, darkest, boldest, taint = settings[0], settings[1], settings[2], settings[3]
    height, width = rgb.shape[0], rgb.shape[1]
    third, zero, one = np.float32(1 / 3), np.float32(0), np.float32(1)
    for down in range(top // block, -(-bottom // block)):
        for across in range(weight.shape[1]):
            red, green, blue, whole, gone, tainted = zero, zero, zero, zero, zero, False
            for row in range(down * block, min(down * block + block, height), step):
                for column in range(across * block, min(across * block + block, width), step):
                    r, g, b = rgb[row, column, 0], rgb[row, column, 1], rgb[row, column, 2]
                    near = r / levels[0], g / levels[1], b / levels[2]
                    highest = max(near[0], near[1], near[2])
                    if highest >= start:
                        tainted = True
                        if min(near[0], near[1], near[2]) >= start:
                            gone += one
                        continue
                    bright = min(max(highest, zero), one)
                    vote = bright * bright
                    mean = max((r + g + b) * third, np.float32(1e-6))
                    red += min(max(r / mean, darkest), boldest) * vote
                    green += min(max(g / mean, darkest), boldest) * vote
                    blue += min(max(b / mean, darkest), boldest) * vote
                    whole += vote
            share = taint if tainted else one
            colour[down, across, 0] = red * share
            colour[down, across, 1] = green * share
            colour[down, across, 2] = blue * share
            weight[down, across, 0] = whole * share
            lost[down, across, 0] = gone


@compiled
def doubt(value, level, settings):
    """0 where a channel is surely below its clip level, 1 where it reached it."""
    part = min(max((value / level - settings[0]) / settings[1], np.float32(0)), np.float32(1))
    return part * part * (np.float32(3) - np.float32(2) * part)


@compiled
def exceeds(values, limits):
    """Whether any value is above its limit."""
    above = 0
    for i in range(values.size):
        above += values[i] > limits[i]
    return above > 0


@compiled
def lift_rows(rgb, around, limits, levels, settings, per_block, down, across):
    """Raise clipped channels, in place; the first pixel lies at row ``down``, column ``across``."""
    width = rgb.shape[1]
    for row in range(rgb.shape[0]):
        flat = rgb[row].reshape(-1)
        for first in range(0, width, STRETCH):
            last = min(first + STRETCH, width)
            if not exceeds(flat[3 * first : 3 * last], limits):
                continue
            for column in range(first, last):
                pixel = rgb[row, column]
                if pixel[0] > limits[0] or pixel[1] > limits[1] or pixel[2] > limits[2]:
                    there = sample(around, down + row, across + column, per_block)
                    raise_pixel(pixel, there, levels, settings)


@compiled
def sample(grid, row, column, per_block):
    """The grid of blocks at a pixel, bilinearly."""
    half, zero = np.float32(0.5), np.float32(0)
    down = min(max((np.float32(row) + half) * per_block - half, zero), np.float32(grid.shape[0] - 1))
    right = min(max((np.float32(column) + half) * per_block - half, zero), np.float32(grid.shape[1] - 1))
    y, x = int(down), int(right)
    below, beside = min(y + 1, grid.shape[0] - 1), min(x + 1, grid.shape[1] - 1)
    down, right = down - np.float32(y), right - np.float32(x)
    r, g, b, f = between(grid[y, x], grid[y, beside], grid[below, x], grid[below, beside], down, right)
    return r, g, b, f


@compiled
def between(a, b, c, d, down, right):
    """Four values between four corners."""
    upper = a[0] + right * (b[0] - a[0]), a[1] + right * (b[1] - a[1])
    upper2 = a[2] + right * (b[2] - a[2]), a[3] + right * (b[3] - a[3])
    lower = c[0] + right * (d[0] - c[0]), c[1] + right * (d[1] - c[1])
    lower2 = c[2] + right * (d[2] - c[2]), c[3] + right * (d[3] - c[3])
    return (
        upper[0] + down * (lower[0] - upper[0]),
        upper[1] + down * (lower[1] - upper[1]),
        upper2[0] + down * (lower2[0] - upper2[0]),
        upper2[1] + down * (lower2[1] - upper2[1]),
    )


@compiled
def raise_pixel(pixel, around, levels, settings):
    """Raise the clipped channels of a pixel, in place."""
    one, zero = np.float32(1), np.float32(0)
    r, g, b, fading = around
    u0, u1, u2 = (
        doubt(pixel[0], levels[0], settings),
        doubt(pixel[1], levels[1], settings),
        doubt(pixel[2], levels[2], settings),
    )
    k0, k1, k2 = one - u0, one - u1, one - u2
    all_lost = min(u0, u1, u2)
    faded = all_lost * fading
    c0, c1, c2 = r + faded * (one - r), g + faded * (one - g), b + faded * (one - b)
    known = k0 * pixel[0] + k1 * pixel[1] + k2 * pixel[2]
    light = known / max(k0 * c0 + k1 * c1 + k2 * c2, np.float32(1e-6))
    lowest = max(levels[0] / c0, levels[1] / c1, levels[2] / c2)
    lowest = max(lowest, levels[0] / r, levels[1] / g, levels[2] / b)
    light = light + all_lost * (lowest - light)
    highest = settings[2]
    pixel[0] += u0 * max(min(light * c0, highest) - pixel[0], zero)
    pixel[1] += u1 * max(min(light * c1, highest) - pixel[1], zero)
    pixel[2] += u2 * max(min(light * c2, highest) - pixel[2], zero)
