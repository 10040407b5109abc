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
    weights = reference.weights(pattern, shape)
    taps = np.array(reference.offsets(reference.radius_of(colour)))
    groups = -(-len(taps) // cokriging.GROUP)
    spare = groups * cokriging.GROUP - len(taps)
    taps = np.concatenate([taps, np.zeros((spare, 2), taps.dtype)])
    weights = np.concatenate([weights, np.zeros((*weights.shape[:-1], spare), weights.dtype)], axis=-1)
    weights = weights.reshape(cokriging.OUTPUTS, *shape, groups, cokriging.GROUP)
    diagonal = [reference.DIAGONAL_STEP if all(step) else 1 for step in reference.DIRECTIONS]
    slope_reach, kernel = colours.slope_radius(colour), colours.interpolation_taps(colour)
    reaches = np.array([reference.radius_of(colour), slope_reach, kernel.size // 2])
    own = _neighbours(colour, np.ones(2 * slope_reach + 1))
    near = _neighbours(colour, kernel)
    mine = colour.astype(np.intp) // 2  # red and blue photosites: which of the two tables is their own
    rows, columns = np.indices(shape)
    return (
        np.array(reference.DIRECTIONS),
        np.array(diagonal, dtype=np.float32),
        reaches,
        taps.reshape(groups, cokriging.GROUP, 2),
        np.ascontiguousarray(weights.transpose(1, 3, 2, 0, 4)),
        own[0][mine, rows, columns],
        own[1][mine, rows, columns],
        *near,
    )


def _neighbours(colour: NDArray[np.uint8], kernel: NDArray[np.float64]) -> tuple[Table, Table, Table]:
    """For red and for blue, and each place of the pattern: how many count, where, and their weights."""
    p, q = colour.shape
    radius = kernel.size // 2
    counts = np.zeros((2, p, q), np.int64)
    places = np.zeros((2, p, q, kernel.size**2, 2), np.int64)
    weights = np.zeros((2, p, q, kernel.size**2), np.float32)
    for c, y, x in np.ndindex(2, p, q):
        found = [
            (down, right)
            for down, right in reference.offsets(radius)
            if colour[(y + down) % p, (x + right) % q] == 2 * c
        ]
        share = np.array([kernel[down + radius] * kernel[right + radius] for down, right in found])
        counts[c, y, x] = len(found)
        places[c, y, x, : len(found)] = found
        weights[c, y, x, : len(found)] = share / share.sum()
    return counts, places, weights
