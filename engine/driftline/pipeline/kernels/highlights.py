# mypy: disallow-untyped-defs=False, disallow-untyped-calls=False
# (numba finds the types of compiled functions out by itself)
"""Compiled rebuilding of highlights; the reference is :mod:`driftline.stages.highlights`.

The two passes over pixels are compiled; spreading colour on the small grid of blocks is the reference's own.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB
from driftline.pipeline.kernels.compilation import compiled
from driftline.pipeline.kernels.tiles import TILE_ROWS, run_tiles
from driftline.stages import highlights as reference

STRETCH = 256
"""Pixels of a row that are looked at together."""


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
    levels = np.asarray(clip, dtype=np.float32)
    rgb = np.ascontiguousarray(rgb, dtype=np.float32)
    height, width = rgb.shape[:2]
    step = reference.step_of(rgb.shape)
    block = reference.SAMPLES * step
    grid = -(-height // block), -(-width // block)
    colour, weight, lost = (np.zeros((*grid, n), np.float32) for n in (3, 1, 1))
    doubted = np.zeros((height, -(-width // STRETCH)), np.bool_)
    limits = np.tile(np.float32(reference.START) * levels, STRETCH)
    weighing = np.array(
        [reference.START, reference.DARKEST, reference.BOLDEST, reference.TAINTED], dtype=np.float32
    )

    def look(top: int, bottom: int, left: int, right: int) -> None:
        mark_rows(rgb, limits, top, bottom, doubted)
        gather_rows(rgb, levels, weighing, step, block, top, bottom, colour, weight, lost)

    rows = -(-tile_rows // block) * block
    run_tiles(look, height, width, tile_rows=rows, tile_columns=width, threads=threads)
    if not doubted.any():
        return rgb
    around = np.ascontiguousarray(reference.spread(colour, weight[..., 0], lost[..., 0]))
    raising = np.array([reference.START, 1 - reference.START, reference.HIGHEST * levels.max()], np.float32)

    def lift(top: int, bottom: int, left: int, right: int) -> None:
        raise_rows(rgb, around, levels, raising, np.float32(1 / block), top, bottom, doubted)

    run_tiles(lift, height, width, tile_rows=tile_rows, tile_columns=width, threads=threads)
    return rgb


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
def mark_rows(rgb, limits, top, bottom, doubted):
    """Whether any channel exceeds its limit in each stretch of a row; ``limits`` is a stretch long."""
    for row in range(top, bottom):
        flat = rgb[row].reshape(-1)
        for stretch in range(doubted.shape[1]):
            part = flat[stretch * limits.size : (stretch + 1) * limits.size]
            above = 0
            for i in range(part.size):
                above += part[i] > limits[i]
            doubted[row, stretch] = above > 0


@compiled
def doubt(value, level, settings):
    """0 where a channel is surely below its clip level, 1 where it reached it."""
    part = min(max((value / level - settings[0]) / settings[1], np.float32(0)), np.float32(1))
    return part * part * (np.float32(3) - np.float32(2) * part)


@compiled
def raise_rows(rgb, around, levels, settings, per_block, top, bottom, doubted):
    """Raise clipped channels of some rows, in place."""
    limits = levels * settings[0]
    for row in range(top, bottom):
        for stretch in range(doubted.shape[1]):
            if not doubted[row, stretch]:
                continue
            for column in range(stretch * STRETCH, min(stretch * STRETCH + STRETCH, rgb.shape[1])):
                pixel = rgb[row, column]
                if pixel[0] > limits[0] or pixel[1] > limits[1] or pixel[2] > limits[2]:
                    raise_pixel(pixel, sample(around, row, column, per_block), levels, settings)


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
