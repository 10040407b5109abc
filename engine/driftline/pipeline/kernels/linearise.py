"""Compiled linearising of a mosaic: the reference's arithmetic, over tiles, the same bits."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import Mosaic
from driftline.pipeline.kernels.compilation import compiled
from driftline.pipeline.kernels.tiles import run_tiles


class Levels(NamedTuple):
    """What makes sensor values linear: less ``dark``, times ``factor``; each as large as the pattern."""

    dark: NDArray[np.float32]
    factor: NDArray[np.float32]


def levels_of(
    pattern: NDArray[Any], *, black: NDArray[Any], white: NDArray[Any], multipliers: NDArray[Any]
) -> Levels:
    """Levels at each place of a pattern; the arguments are those of :func:`linearise`."""
    colours = pattern.astype(np.intp)
    factor = multipliers[colours] / (white[colours] - black)
    return Levels(black.astype(np.float32), np.asarray(factor, dtype=np.float32))


def linearise(
    values: NDArray[Any],
    *,
    pattern: NDArray[Any],
    black: NDArray[Any],
    white: NDArray[Any],
    multipliers: NDArray[Any],
) -> Mosaic:
    """As :func:`driftline.stages.linearise.linearise` does for a mosaic, the same to the bit."""
    levels = levels_of(pattern, black=black, white=white, multipliers=multipliers)
    return linearised(np.ascontiguousarray(values), levels)


def linearised(values: NDArray[Any], levels: Levels) -> Mosaic:
    """A mosaic made linear by the levels of its pattern."""
    out = np.empty(values.shape, np.float32)

    def tile(top: int, bottom: int, left: int, right: int) -> None:
        linearise_tile(values, *levels, top, bottom, left, right, out)

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
