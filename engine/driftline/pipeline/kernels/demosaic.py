"""The door to compiled demosaicking: the reference's arguments, the reference's result, many times faster."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB, Mosaic
from driftline.pipeline.kernels import cokriging, two_by_two
from driftline.pipeline.kernels.tiles import TILE_COLUMNS, TILE_ROWS, run_tiles
from driftline.stages import demosaic_cokriging as reference
from driftline.stages import demosaic_colours as colours
from driftline.stages import demosaic_two_by_two
from driftline.stages import demosaic_weights as model
from driftline.stages.demosaic import BEND, NOISE_FLOOR, at_zero
from driftline.stages.demosaic_margin import GUESSED_FROM, pad

Table = NDArray[Any]


def demosaic(
    mosaic: Mosaic,
    pattern: NDArray[Any],
    *,
    noise_floor: float = NOISE_FLOOR,
    threads: int | None = None,
    tile_rows: int = TILE_ROWS,
    tile_columns: int = TILE_COLUMNS,
) -> CameraRGB:
    """Interpolate a mosaic to three values a pixel, as :func:`driftline.stages.demosaic.demosaic` does.

    Parameters
    ----------
    mosaic, pattern, noise_floor
        As there.
    threads, tile_rows, tile_columns
        How the work is cut up; the result is the same to the bit.

    Returns
    -------
    CameraRGB
        (H, W, 3) float32, within 1e-4 of the reference.
    """
    mosaic = np.ascontiguousarray(mosaic, dtype=np.float32)
    pattern = np.asarray(pattern)
    out = np.empty((*mosaic.shape, 3), np.float32)
    tile = _two_by_two if demosaic_two_by_two.applies_to(pattern) else _cokriging
    period = pattern.shape[1]
    run_tiles(
        tile(mosaic, pattern, noise_floor, out),
        *mosaic.shape,
        tile_rows=tile_rows,
        tile_columns=-(-tile_columns // period) * period,
        threads=threads,
    )
    return out


def _two_by_two(mosaic: Mosaic, pattern: NDArray[Any], noise_floor: float, out: CameraRGB) -> Any:
    settings = _settings(
        noise_floor,
        demosaic_two_by_two.VARIATION_FLOOR,
        colours.STEADINESS,
        demosaic_two_by_two.SLACK,
        demosaic_two_by_two.LIVELINESS_FLOOR,
    )
    places = pattern.astype(np.int64)

    def tile(top: int, bottom: int, left: int, right: int) -> None:
        two_by_two.demosaic_tile(mosaic, places, settings, top, bottom, left, right, out)

    return tile


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
