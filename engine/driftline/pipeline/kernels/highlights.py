"""Compiled gathering of the colour about clipped highlights, beside :mod:`driftline.stages.highlights`."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB
from driftline.pipeline.kernels.compilation import compiled
from driftline.pipeline.kernels.tiles import run_tiles
from driftline.stages.highlights import BLOCK, COLOUR_RANGE, NEUTRAL_VOTE, START, raise_clipped

TAINT = 3
"""How far interpolation carries a clipped photosite, in pixels."""


def rebuild(rgb: CameraRGB, *, clip: NDArray[Any]) -> CameraRGB:
    """As :func:`driftline.stages.highlights.rebuild`, to 1e-4; ``rgb`` itself is changed and given back."""
    levels = np.asarray(clip, dtype=np.float32)
    height, width = rgb.shape[:2]
    grid = (-(-height // BLOCK), -(-width // BLOCK))
    total, weight = np.zeros((*grid, 3), np.float32), np.zeros(grid, np.float32)
    low, high = np.float32(COLOUR_RANGE[0]), np.float32(COLOUR_RANGE[1])
    settings = np.array([START, NEUTRAL_VOTE, low, high], np.float32)

    def tile(top: int, bottom: int, left: int, right: int) -> None:
        gather_rows(rgb, levels, settings, top, bottom, total, weight)

    run_tiles(tile, height, width, tile_rows=16 * BLOCK, tile_columns=max(width, 1))
    raise_clipped(rgb, levels, total, weight)
    return rgb


@compiled
def gather_rows(rgb, levels, settings, top, bottom, total, weight):
    """Sums of weighted colour, and of the weights, over the blocks of some rows."""
    height, width = rgb.shape[0], rgb.shape[1]
    start, neutral, low, high = settings[0], settings[1], settings[2], settings[3]
    near = np.zeros((BLOCK + 2 * TAINT, width), np.uint8)
    wide = np.zeros((BLOCK + 2 * TAINT, width), np.uint8)
    for first in range(top, bottom, BLOCK):
        last = min(first + BLOCK, height)
        for k in range(BLOCK + 2 * TAINT):
            row = min(max(first - TAINT + k, 0), height - 1)
            mark_row(rgb, levels, start, row, near[k], wide[k])
        for row in range(first, last):
            for column in range(width):
                tainted = np.uint8(0)
                for k in range(2 * TAINT + 1):
                    tainted |= wide[row - first + k, column]
                r, g, b = rgb[row, column, 0], rgb[row, column, 1], rgb[row, column, 2]
                share = max(r / levels[0], g / levels[1], b / levels[2])
                lost = min(r / levels[0], g / levels[1], b / levels[2]) >= start
                held = min(max(share, np.float32(0)), np.float32(1))
                vote = held * held
                if tainted:
                    vote = neutral if lost else np.float32(0)
                if vote == np.float32(0):
                    continue
                at, beside = row // BLOCK, column // BLOCK
                mean = max((r + g + b) * np.float32(1.0 / 3.0), np.float32(1e-4))
                weight[at, beside] += vote
                if lost:
                    r, g, b = mean, mean, mean
                total[at, beside, 0] += min(max(r / mean, low), high) * vote
                total[at, beside, 1] += min(max(g / mean, low), high) * vote
                total[at, beside, 2] += min(max(b / mean, low), high) * vote


@compiled
def mark_row(rgb, levels, start, row, near, wide):
    """Which places of a row have a doubted channel, and which lie within reach of one."""
    width = near.size
    found = False
    for column in range(width):
        r, g, b = rgb[row, column, 0], rgb[row, column, 1], rgb[row, column, 2]
        clipped = r >= start * levels[0] or g >= start * levels[1] or b >= start * levels[2]
        near[column] = np.uint8(1) if clipped else np.uint8(0)
        found = found or clipped
    for column in range(width):
        wide[column] = np.uint8(0)
    if found:
        for column in range(width):
            if near[column]:
                for other in range(max(column - TAINT, 0), min(column + TAINT + 1, width)):
                    wide[other] = np.uint8(1)
