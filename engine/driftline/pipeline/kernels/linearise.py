"""Compiled linearising of a mosaic: the reference's arithmetic, over tiles, the same bits."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import Mosaic
from driftline.pipeline.kernels.compilation import compiled
from driftline.pipeline.kernels.tiles import run_tiles


def linearise(
    values: NDArray[Any],
    *,
    pattern: NDArray[Any],
    black: NDArray[Any],
    white: NDArray[Any],
    multipliers: NDArray[Any],
) -> Mosaic:
    """As :func:`driftline.stages.linearise.linearise` does for a mosaic, the same to the bit."""
    colours = pattern.astype(np.intp)
    dark = black.astype(np.float32)
    factor = (multipliers[colours] / (white[colours] - black)).astype(np.float32)
    values = np.ascontiguousarray(values)
    out = np.empty(values.shape, np.float32)

    def tile(top: int, bottom: int, left: int, right: int) -> None:
        linearise_tile(values, dark, factor, top, bottom, left, right, out)

    run_tiles(tile, *values.shape)
    return out


@compiled
def linearise_tile(values, dark, factor, top, bottom, left, right, out):
    """One tile: (value - black) times the factor of its place in the pattern."""
    rows, columns = dark.shape
    for row in range(top, bottom):
        for phase in range(columns):
            low, scale = dark[row % rows, phase], factor[row % rows, phase]
            first = left + (phase - left) % columns
            for column in range(first, right, columns):
                out[row, column] = (np.float32(values[row, column]) - low) * scale
