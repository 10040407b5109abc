"""Demosaicking of any repeating pattern: colour differences by directional cokriging, decided afterwards.

The picture is modelled as a random field (G. Matheron, "The intrinsic random functions and their
applications", Advances in Applied Probability 5(3), 1973): what the colours share varies as fast as distance
across a direction and slowly along it; each colour's own part varies slowly every way. For each of four
directions, and each place in the pattern, the best linear unbiased estimates of red less green and of blue
less green follow from the photosites around (universal cokriging, with a level for each colour and a common
slope: constants and common ramps are exact). The direction along which the differences vary least is right,
as in Menon, Andriani & Calvagno (IEEE Transactions on Image Processing 16(1), 2007); it is chosen softly.
Red and blue then follow green, mostly.
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.stages.demosaic_colours import follow_green, reach

Plane = NDArray[np.float32]

DIRECTIONS = ((0, 1), (1, 1), (1, 0), (1, -1))
"""Steps (down, right) along which the picture may vary slowly."""

SLOWNESS = 0.1
"""Variation along a direction, where across it is 1."""

OWN_PART = 0.1
"""Variation of each colour's own part."""

NOISE = 0.005
"""Variance of the noise at a photosite; small, so that photosites keep nearly what they measured."""

VARIATION_FLOOR = 1e-3
DIAGONAL_STEP = 0.8
"""A diagonal step is longer, so more varies over it."""

FOLLOWING = 0.75
"""Share of red and blue that follows green; the rest is the cokriged difference."""

SLACK = 0.5
"""How far green may leave the range of the green photosites around, as a share of that range."""

FEWEST = 3
"""Photosites of each colour that an estimate uses, at least."""

GRID = 2.0**20
"""Weights are rounded to this fraction, so that they are the same on every machine."""


def margin_of(pattern: NDArray[Any]) -> int:
    """Photosites to lengthen the mosaic by."""
    return radius_of(pattern) + 3 + reach(pattern)


def interpolate(padded: Plane, colours: NDArray[np.intp], pattern: NDArray[Any]) -> NDArray[np.float32]:
    """Interpolate an encoded mosaic.

    Parameters
    ----------
    padded
        (H, W) encoded values, lengthened by :func:`margin_of`.
    colours
        (H, W) colour of each photosite.
    pattern
        (p, q) of 0 red, 1 green, 2 blue, with all three colours.

    Returns
    -------
    NDArray
        (H, W, 3) encoded; worthless in the margin.
    """
    red_less_green, blue_less_green = _differences(padded, pattern)
    green = padded - np.where(colours == 0, red_less_green, blue_less_green)
    green = np.where(colours == 1, padded, _limited(green, padded, colours == 1))
    planes = []
    for colour, difference in ((0, red_less_green), (2, blue_less_green)):
        following = follow_green(padded, green, colours == colour, pattern)
        planes.append(np.float32(FOLLOWING) * following + np.float32(1 - FOLLOWING) * (green + difference))
    return np.stack([planes[0], green, planes[1]], axis=-1)


def _limited(green: Plane, mosaic: Plane, is_green: NDArray[np.bool_]) -> Plane:
    """Green kept near the range of the green photosites around, where there are any."""
    low, high = np.full_like(mosaic, np.inf), np.full_like(mosaic, -np.inf)
    for step in offsets(1):
        near, counts = np.roll(mosaic, step, (0, 1)), np.roll(is_green, step, (0, 1))
        low, high = (
            np.where(counts, np.minimum(low, near), low),
            np.where(counts, np.maximum(high, near), high),
        )
    slack = np.where(high >= low, high - low, 0) * np.float32(SLACK)
    kept = np.minimum(np.maximum(green, low - slack), high + slack)
    return np.asarray(np.where(high >= low, kept, green), dtype=np.float32)


def _differences(mosaic: Plane, pattern: NDArray[Any]) -> tuple[Plane, Plane]:
    """Red less green, and blue less green, at every photosite."""
    total = np.zeros((2, *mosaic.shape), np.float32)
    weight = np.zeros_like(mosaic)
    for direction, step in enumerate(DIRECTIONS):
        estimates = _filtered(mosaic, pattern, direction)
        variation = _variation(estimates, step) * np.float32(DIAGONAL_STEP if all(step) else 1)
        square = np.square(variation + np.float32(VARIATION_FLOOR))
        share = np.float32(1) / (square * square)
        total, weight = total + share * estimates, weight + share
    red, blue = total / weight
    return red, blue


def _filtered(mosaic: Plane, pattern: NDArray[Any], direction: int) -> Plane:
    """(2, H, W) both differences, by the weights of one direction."""
    p, q = pattern.shape
    margin = margin_of(pattern)
    rows, columns = (
        (np.arange(size) - margin) % period for size, period in zip(mosaic.shape, (p, q), strict=True)
    )
    out = np.zeros((2, *mosaic.shape), np.float32)
    table = weights(pattern.astype(np.uint8).tobytes(), (p, q))[direction]
    for tap, (down, right) in enumerate(offsets(radius_of(pattern))):
        out += table[:, :, :, tap][:, rows][:, :, columns] * np.roll(mosaic, (-down, -right), (0, 1))
    return out


def _variation(planes: Plane, step: tuple[int, int]) -> Plane:
    """How much two planes vary along a step, over 5 × 5 photosites and both neighbours."""
    changes = np.abs(np.roll(planes, (-step[0], -step[1]), (1, 2)) - planes)
    change = changes[0] + changes[1]
    total: Plane = change + np.roll(change, step, (0, 1))
    for axis in (1, 0):
        parts = [np.roll(total, steps, axis) for steps in (2, 1, 0, -1, -2)]
        total = parts[0] + parts[1] + parts[2] + parts[3] + parts[4]
    return total


def offsets(radius: int) -> list[tuple[int, int]]:
    """The square of neighbours (down, right), row by row."""
    return [(y, x) for y in range(-radius, radius + 1) for x in range(-radius, radius + 1)]


def radius_of(pattern: NDArray[Any]) -> int:
    """Radius of the smallest square, 5 × 5 at least, that holds enough of each colour wherever it lies."""
    for radius in range(2, 99):
        counts = [
            sum(np.roll(pattern == colour, (-y, -x), (0, 1)).astype(int) for y, x in offsets(radius))
            for colour in range(3)
        ]
        if np.min(counts) >= FEWEST:
            return radius
    raise ValueError(f"pattern {pattern.tolist()}; expected all three colours")


@lru_cache(maxsize=8)
def weights(pattern: bytes, shape: tuple[int, int]) -> NDArray[np.float32]:
    """Weights of every photosite's neighbours.

    Parameters
    ----------
    pattern, shape
        The colour filter pattern as uint8 bytes, and its shape.

    Returns
    -------
    NDArray
        (4 directions, 2 differences, p, q, taps) float32, multiples of 2^-20.
    """
    colours = np.frombuffer(pattern, np.uint8).reshape(shape)
    p, q = shape
    taps = np.array(offsets(radius_of(colours)))
    table = np.zeros((len(DIRECTIONS), 2, p, q, len(taps)))
    for direction, step in enumerate(DIRECTIONS):
        for y in range(p):
            for x in range(q):
                seen = colours[(y + taps[:, 0]) % p, (x + taps[:, 1]) % q]
                table[direction, :, y, x] = _solve(taps.astype(float), seen, step)
    return _rounded(table, colours, taps)


def _solve(
    places: NDArray[np.float64], seen: NDArray[np.uint8], step: tuple[int, int]
) -> NDArray[np.float64]:
    """(2, taps) weights for red less green, and blue less green, at the middle of the square."""
    same = seen[:, None] == seen[None]
    between = _covariance(places[:, None] - places[None], same, step) + NOISE * np.eye(len(seen))
    drift = np.stack([seen == 0, seen == 1, seen == 2, places[:, 0], places[:, 1]], axis=1).astype(float)
    system = np.block([[between, drift], [drift.T, np.zeros((5, 5))]])
    wanted = []
    for colour in range(3):
        here = _covariance(places, seen == colour, step)
        wanted.append(np.concatenate([here, [colour == 0, colour == 1, colour == 2, 0, 0]]))
    red, green, blue = np.linalg.solve(system, np.array(wanted).T).T[:, : len(seen)]
    return np.stack([red - green, blue - green])


def _covariance(apart: NDArray[np.float64], same: NDArray[Any], step: tuple[int, int]) -> NDArray[np.float64]:
    """Generalised covariance of two photosites: minus the distance, weighed by direction."""
    length = np.hypot(*step)
    along = (apart[..., 0] * step[0] + apart[..., 1] * step[1]) / length
    across = (apart[..., 0] * step[1] - apart[..., 1] * step[0]) / length
    shared = np.sqrt((SLOWNESS * along) ** 2 + across**2)
    return np.asarray(-shared - OWN_PART * np.where(same, np.hypot(along, across), 0))


def _rounded(table: NDArray[np.float64], colours: NDArray[Any], taps: NDArray[Any]) -> NDArray[np.float32]:
    """Multiples of 2^-20 whose sum over each colour is exact, by correction of its largest weight."""
    p, q = colours.shape
    grid = np.round(table * GRID)
    for direction, difference, y, x in np.ndindex(table.shape[:4]):
        row = grid[direction, difference, y, x]
        seen = colours[(y + taps[:, 0]) % p, (x + taps[:, 1]) % q]
        for colour in range(3):
            sites = np.flatnonzero(seen == colour)
            due = {1: -1, 2 * difference: 1}.get(colour, 0) * GRID
            row[sites[np.argmax(np.abs(row[sites]))]] += due - row[sites].sum()
    return (grid / GRID).astype(np.float32)
