"""The door to compiled demosaicking: the reference's arguments, the reference's result, many times faster."""

from __future__ import annotations

import threading
from collections.abc import Callable
from functools import lru_cache, partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB, Mosaic
from driftline.pipeline.kernels import cokriging, two_by_two
from driftline.pipeline.kernels.linearise import Levels, linearised
from driftline.pipeline.kernels.tiles import TILE_COLUMNS, run_tiles
from driftline.stages import demosaic_cokriging as reference
from driftline.stages import demosaic_colours as colours
from driftline.stages import demosaic_two_by_two
from driftline.stages import demosaic_weights as model
from driftline.stages.demosaic import BEND, NOISE_FLOOR, at_zero
from driftline.stages.demosaic_margin import GUESSED_FROM, pad

TILE_ROWS = 256
"""As many as leave little to the rows above a tile that are worked out twice."""

Table = NDArray[Any]
Window = tuple[int, int, int, int]


def demosaic(
    mosaic: NDArray[Any],
    pattern: NDArray[Any],
    *,
    levels: Levels | None = None,
    noise_floor: float = NOISE_FLOOR,
    threads: int | None = None,
    tile_rows: int = TILE_ROWS,
    tile_columns: int = TILE_COLUMNS,
) -> CameraRGB:
    """Interpolate a mosaic to three values a pixel, as :func:`driftline.stages.demosaic.demosaic` does.

    Parameters
    ----------
    mosaic, pattern, noise_floor
        As there; with ``levels`` what the sensor gave.
    levels
        What makes the mosaic linear; None if it is.
    threads, tile_rows, tile_columns
        How the work is cut up; the result is the same to the bit.

    Returns
    -------
    CameraRGB
        (H, W, 3) float32, within 1e-4 of the reference.
    """
    pattern = np.asarray(pattern)
    out = np.empty((*mosaic.shape, 3), np.float32)
    if demosaic_two_by_two.applies_to(pattern):
        write = _two_by_two(mosaic, pattern, levels, noise_floor)

        def tile(top: int, bottom: int, left: int, right: int) -> None:
            write(top, bottom, left, right, out, 0, 0)

    else:
        tile = _cokriging(_linear(mosaic, levels), pattern, noise_floor, out)
    period = pattern.shape[1]
    run_tiles(
        tile,
        *mosaic.shape,
        tile_rows=tile_rows,
        tile_columns=-(-tile_columns // period) * period,
        threads=threads,
    )
    return out


def by_tiles(
    values: NDArray[Any],
    pattern: NDArray[Any],
    levels: Levels | None,
    window: Window,
    use: Callable[[CameraRGB, int, int], None],
    *,
    threads: int | None = None,
) -> None:
    """Interpolate a 2 × 2 mosaic tile by tile, each given away before the next: the whole is never there.

    Parameters
    ----------
    values, pattern, levels
        As for :func:`demosaic`.
    window
        (top, left, height, width) of the part that is wanted.
    use
        Called with the pixels of a tile, the same to the bit as :func:`demosaic`'s, and the row and column
        of the window where they begin. From several threads; the pixels are overwritten afterwards.
    threads
        None for all processors.
    """
    write, (above, before, height, width) = _two_by_two(values, pattern, levels, NOISE_FLOOR), window
    own = threading.local()

    def tile(top: int, bottom: int, left: int, right: int) -> None:
        if not hasattr(own, "room"):
            own.room = np.empty(TILE_ROWS * (TILE_COLUMNS + 1) * 3, np.float32)
        odd = (before + left) % 2  # a tile of the kernel begins at an even column
        rows, columns = bottom - top, right - left + odd
        out = own.room[: rows * columns * 3].reshape(rows, columns, 3)
        corner = above + top, before + left - odd
        write(above + top, above + bottom, corner[1], before + right, out, *corner)
        use(np.ascontiguousarray(out[:, odd:]), top, left)

    run_tiles(tile, height, width, tile_rows=TILE_ROWS, threads=threads)


def _linear(mosaic: NDArray[Any], levels: Levels | None) -> Mosaic:
    if levels is None:
        return np.ascontiguousarray(mosaic, dtype=np.float32)
    return linearised(np.ascontiguousarray(mosaic), levels)


def _two_by_two(
    mosaic: NDArray[Any], pattern: NDArray[Any], levels: Levels | None, noise_floor: float
) -> Any:
    settings = _settings(
        noise_floor,
        demosaic_two_by_two.VARIATION_FLOOR,
        colours.STEADINESS,
        demosaic_two_by_two.SLACK,
        demosaic_two_by_two.LIVELINESS_FLOOR,
    )
    # What is linear goes beside the sensor's values, so that one compiled function does for both.
    if levels is None:
        values, linear = np.zeros((0, 0), np.uint16), _linear(mosaic, None)
        levels = Levels(np.zeros((2, 2), np.float32), np.ones((2, 2), np.float32))
    else:
        values, linear = np.ascontiguousarray(mosaic), np.zeros((0, 0), np.float32)
    return partial(two_by_two.demosaic_tile, values, linear, *levels, pattern.astype(np.int64), settings)


def _cokriging(mosaic: Mosaic, pattern: NDArray[Any], noise_floor: float, out: CameraRGB) -> Any:
    settings = _settings(
        noise_floor,
        reference.VARIATION_FLOOR,
        colours.STEADINESS,
        reference.FOLLOWING,
        reference.SLACK,
    )
    edges = beyond_edges(mosaic, pattern)
    tables = tables_of(pattern.astype(np.uint8).tobytes(), pattern.shape)
    places = pattern.astype(np.int64)

    def tile(top: int, bottom: int, left: int, right: int) -> None:
        cokriging.demosaic_tile(mosaic, *edges, places, settings, *tables, top, bottom, left, right, out)

    return tile


def _settings(noise_floor: float, *others: float) -> NDArray[np.float32]:
    return np.array([noise_floor, BEND, at_zero(noise_floor), *others], dtype=np.float32)


def beyond_edges(mosaic: Mosaic, pattern: NDArray[Any]) -> tuple[Mosaic, Mosaic, Mosaic, Mosaic]:
    """What :func:`driftline.stages.demosaic_margin.pad` puts above, below, left and right of a mosaic."""
    margin = reference.margin_of(pattern)
    deep = margin + GUESSED_FROM
    height, width = mosaic.shape
    low, far = max(height - deep, 0), max(width - deep, 0)
    return (
        pad(mosaic[:deep], pattern, margin)[:margin],
        pad(mosaic[low:], np.roll(pattern, -low, axis=0), margin)[-margin:],
        pad(mosaic[:, :deep], pattern, margin)[margin:-margin, :margin],
        pad(mosaic[:, far:], np.roll(pattern, -far, axis=1), margin)[margin:-margin, -margin:],
    )


@lru_cache(maxsize=8)
def tables_of(pattern: bytes, shape: tuple[int, int]) -> tuple[Table, ...]:
    """Everything the kernel needs to know of a pattern, in the order of its arguments."""
    colour = np.frombuffer(pattern, np.uint8).reshape(shape)
    diagonal = [reference.DIAGONAL_STEP if all(step) else 1 for step in model.DIRECTIONS]
    slope_reach, follow_reach = colours.slope_radius(colour), model.following_radius(colour)
    around = _neighbours(colour, slope_reach)
    mine = colour.astype(np.intp) // 2  # at red and blue photosites: which of the two is their own
    rows, columns = np.indices(shape)
    counts, places = _neighbours(colour, follow_reach)
    return (
        np.array(model.DIRECTIONS),
        np.array(diagonal, dtype=np.float32),
        np.array([model.difference_radius(colour), slope_reach, follow_reach]),
        *_grouped(model.difference_weights(pattern, shape), model.difference_radius(colour)),
        around[0][mine, rows, columns],
        around[1][mine, rows, columns],
        counts,
        places,
        _at_places(model.following_weights(pattern, shape), places, follow_reach),
    )


def _grouped(weights: Table, radius: int) -> tuple[Table, Table]:
    """Taps (groups, 5, 2) and their weights (p, groups, q, outputs, 5); zeros fill the last group."""
    taps = np.array(model.offsets(radius))
    groups = -(-len(taps) // cokriging.GROUP)
    spare = groups * cokriging.GROUP - len(taps)
    taps = np.concatenate([taps, np.zeros((spare, 2), taps.dtype)])
    weights = np.concatenate([weights, np.zeros((*weights.shape[:-1], spare), weights.dtype)], axis=-1)
    p, q = weights.shape[3:5]
    weights = weights.reshape(cokriging.OUTPUTS, p, q, groups, cokriging.GROUP).transpose(1, 3, 2, 0, 4)
    return taps.reshape(groups, cokriging.GROUP, 2), np.ascontiguousarray(weights)


def _neighbours(colour: NDArray[np.uint8], radius: int) -> tuple[Table, Table]:
    """For red and for blue, and each place of the pattern: how many lie in the square around, and where."""
    p, q = colour.shape
    counts = np.zeros((2, p, q), np.int64)
    places = np.zeros((2, p, q, (2 * radius + 1) ** 2, 2), np.int64)
    for c, y, x in np.ndindex(2, p, q):
        found = [
            (down, right)
            for down, right in model.offsets(radius)
            if colour[(y + down) % p, (x + right) % q] == 2 * c
        ]
        counts[c, y, x] = len(found)
        places[c, y, x, : len(found)] = found
    return counts, places


def _at_places(weights: Table, places: Table, radius: int) -> Table:
    """(2, p, q, places, 4 directions) weights of the neighbours listed; what lies past them is not read."""
    tap = (places[..., 0] + radius) * (2 * radius + 1) + places[..., 1] + radius
    return np.ascontiguousarray(np.moveaxis(np.take_along_axis(weights, tap[None], axis=-1), 0, -1))
