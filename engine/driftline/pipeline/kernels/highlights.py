# mypy: disallow-untyped-defs=False, disallow-untyped-calls=False
# (numba finds the types of compiled functions out by itself)
"""Compiled rebuilding of highlights on the mosaic; the reference is
:mod:`driftline.stages.highlights_mosaic`.

Gathering and raising are compiled; spreading colour on the small grid of blocks is the reference's own.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import Mosaic
from driftline.pipeline.kernels.compilation import compiled
from driftline.pipeline.kernels.linearise import Levels
from driftline.pipeline.kernels.tiles import TILE_ROWS, run_tiles
from driftline.stages import highlights_mosaic as reference
from driftline.stages import surroundings
from driftline.stages.highlights import HIGHEST

STRETCH = 256
"""Photosites of a row that are looked at together, about."""

SAMPLES = 2
"""The reference's, known when this is compiled; so are the next two."""

TAPS = np.array([4, 1, 2, 1, 2, 2, 1, 2, 1], dtype=np.float32)
NEAR = np.array([(0, 0), (-1, -1), (-1, 0), (-1, 1), (0, -1), (0, 1), (1, -1), (1, 0), (1, 1)])

SURELY = 0.9995
"""Share of the clip level from which nothing is left of a photosite, whatever rounding does."""


def rebuild_mosaic(
    values: NDArray[Any],
    pattern: NDArray[Any],
    levels: Levels,
    *,
    clip: NDArray[Any],
    threads: int | None = None,
    tile_rows: int = TILE_ROWS,
) -> Mosaic:
    """Linearise, and raise clipped photosites as :mod:`driftline.stages.highlights_mosaic` does.

    Parameters
    ----------
    values
        (H, W), what the sensor gave.
    pattern, clip
        As there.
    levels
        What makes the values linear.
    threads, tile_rows
        How the work is cut up; the result is the same to the bit.

    Returns
    -------
    Mosaic
        (H, W) float32.
    """
    full, at = np.asarray(clip, dtype=np.float32), surroundings.places(values.shape, pattern)
    grid, sites = at.blocks(values.shape), _sites(pattern, levels)
    votes, lost = np.zeros((*grid, 4), np.float32), np.zeros(grid, np.float32)
    weighing = _settings(surroundings.START, surroundings.DARKEST, surroundings.BOLDEST, surroundings.UNEVEN)

    def gather(top: int, bottom: int, _left: int, _right: int) -> None:
        gather_rows(values, *sites, full, weighing, *at, top, bottom, votes, lost)

    run_tiles(gather, grid[0], 1, tile_rows=max(1, tile_rows // at.block), threads=threads)
    around = np.ascontiguousarray(surroundings.spread(votes[..., :3], votes[..., 3], lost))
    out, raising = np.empty(values.shape, np.float32), _raising(full, at.block)
    limits = np.tile(raising[0] * full[sites[0][..., 0]], (1, -(-STRETCH // pattern.shape[1])))

    def tile(top: int, bottom: int, _left: int, _right: int) -> None:
        raise_rows(values, *sites, around, limits, full, raising, top, bottom, out)

    height, width = values.shape
    run_tiles(tile, height, width, tile_rows=tile_rows, tile_columns=width, threads=threads)
    return out


def _sites(pattern: NDArray[Any], levels: Levels) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Colour, dark and factor of each place of the pattern and those around it, (p, q, 9) each."""
    tables = pattern.astype(np.int64), levels.dark, levels.factor
    around = [[np.roll(table, (-down, -right), (0, 1)) for down, right in NEAR] for table in tables]
    colour, dark, factor = (np.ascontiguousarray(np.stack(each, axis=-1)) for each in around)
    return colour, dark, factor


def _raising(full: NDArray[np.float32], block: int) -> NDArray[np.float32]:
    return _settings(
        surroundings.START,
        surroundings.FULL - surroundings.START,
        reference.OTHER_SIDE,
        1 / (reference.SAME_SIDE - reference.OTHER_SIDE),
        reference.LITTLE,
        HIGHEST * full.max(),
        1 / block,
    )


def _settings(*numbers: float) -> NDArray[np.float32]:
    return np.array(numbers, dtype=np.float32)


@compiled
def nine(values, row, column, which, dark, factor, surely, near):
    """A photosite and those around it, linear, and whether all are clipped; beyond the edges lies black."""
    height, width = values.shape
    inside = 0 < row < height - 1 and 0 < column < width - 1
    all_lost = True
    for i in range(9):
        y, x = row + NEAR[i, 0], column + NEAR[i, 1]
        if inside or (0 <= y < height and 0 <= x < width):
            near[i] = (np.float32(values[y, x]) - dark[i]) * factor[i]
        else:
            near[i] = np.float32(0)
        all_lost = all_lost and near[i] >= surely[which[i]]
    return all_lost


@compiled
def look(near, which, found):
    """Of each colour among nine photosites: mean, highest, lowest, sum of weights."""
    found[:, 0], found[:, 3] = np.float32(0), np.float32(0)
    found[:, 1], found[:, 2] = np.float32(-np.inf), np.float32(np.inf)
    for i in range(9):
        one, value, tap = found[which[i]], near[i], TAPS[i]
        one[0] += tap * value
        one[1], one[2] = max(one[1], value), min(one[2], value)
        one[3] += tap
    for c in range(3):
        found[c, 0] /= max(found[c, 3], np.float32(1e-9))


@compiled
def vote_of(found, levels, settings):
    """Weight of a place, and whether it has lost all channels."""
    zero, one = np.float32(0), np.float32(1)
    highest, lowest, bright, uneven = np.float32(-np.inf), np.float32(np.inf), zero, zero
    for c in range(3):
        high, low = found[c, 1], found[c, 2]
        if found[c, 3] == zero:
            return zero, False
        highest, lowest = max(highest, high / levels[c]), min(lowest, high / levels[c])
        bright = max(bright, min(found[c, 0] / levels[c], one))
        uneven = max(uneven, (high - low) / max(high + low, np.float32(0.02)))
    if highest >= settings[0]:
        return zero, lowest >= settings[0]
    bright = bright * bright
    part = uneven / settings[3]
    part = part * part
    part = part * part
    return bright * bright / (one + part * part), False


@compiled
def gather_rows(values, which, dark, factor, levels, settings, row, column, step, top, bottom, votes, lost):
    """What the blocks of some rows know: ``votes`` are sums of the three colours and of weights."""
    height, width = values.shape
    third, found, near = np.float32(1 / 3), np.empty((3, 4), np.float32), np.empty(9, np.float32)
    surely, p, q = np.float32(SURELY) * levels, which.shape[0], which.shape[1]
    for down in range(top, bottom):
        for across in range(votes.shape[1]):
            block = votes[down, across]
            for place in range(SAMPLES * SAMPLES):
                y = row + (down * SAMPLES + place // SAMPLES) * step
                x = column + (across * SAMPLES + place % SAMPLES) * step
                if y >= height - 1 or x >= width - 1:
                    continue
                colours = which[y % p, x % q]
                gone = nine(values, y, x, colours, dark[y % p, x % q], factor[y % p, x % q], surely, near)
                vote = np.float32(0)
                if not gone:
                    look(near, colours, found)
                    vote, gone = vote_of(found, levels, settings)
                if gone:
                    lost[down, across] += np.float32(1)
                if vote == np.float32(0):
                    continue
                mean = max((found[0, 0] + found[1, 0] + found[2, 0]) * third, np.float32(1e-6))
                for c in range(3):
                    block[c] += min(max(found[c, 0] / mean, settings[1]), settings[2]) * vote
                block[3] += vote


@compiled
def smooth_step(part):
    """From 0 to 1, smooth at both."""
    part = min(max(part, np.float32(0)), np.float32(1))
    return part * part * (np.float32(3) - np.float32(2) * part)


@compiled
def sixteenth_power(value):
    """Next to nothing, unless it is close to 1."""
    square = value * value
    fourth = square * square
    eighth = fourth * fourth
    return eighth * eighth


@compiled
def sample(grid, row, column, per_block):
    """The grid of blocks at a place, bilinearly."""
    half, zero = np.float32(0.5), np.float32(0)
    down = min(max((np.float32(row) + half) * per_block - half, zero), np.float32(grid.shape[0] - 1))
    right = min(max((np.float32(column) + half) * per_block - half, zero), np.float32(grid.shape[1] - 1))
    y, x = int(down), int(right)
    below, beside = min(y + 1, grid.shape[0] - 1), min(x + 1, grid.shape[1] - 1)
    down, right = down - np.float32(y), right - np.float32(x)
    return between(grid[y, x], grid[y, beside], grid[below, x], grid[below, beside], down, right)


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
def exceeds(values, limits):
    """Whether any value is above its limit."""
    above = 0
    for i in range(values.size):
        above += values[i] > limits[i]
    return above > 0


@compiled
def raise_rows(values, which, dark, factor, around, limits, levels, settings, top, bottom, out):
    """Rows of a mosaic: linear, and raised where they are clipped."""
    width, long, (p, q) = values.shape[1], limits.shape[1], which.shape[:2]
    near, sums, surely = np.empty(9, np.float32), np.empty((3, 4), np.float32), np.float32(SURELY) * levels
    for row in range(top, bottom):
        line, limit, y = out[row], limits[row % p], row % p
        for phase in range(q):
            low, scale = dark[y, phase, 0], factor[y, phase, 0]
            for column in range(phase, width, q):
                line[column] = (np.float32(values[row, column]) - low) * scale
        for first in range(0, width, long):
            last = min(first + long, width)
            if not exceeds(line[first:last], limit[: last - first]):
                continue
            for column in range(first, last):
                if line[column] > limit[column - first]:
                    colours, x = which[y, column % q], column % q
                    all_lost = nine(values, row, column, colours, dark[y, x], factor[y, x], surely, near)
                    lent = sample(around, row, column, settings[6])
                    line[column] = raised(near, colours, all_lost, lent, levels, settings, sums)


@compiled
def add_up(near, colours, levels, settings, sums):
    """Of each colour's bright photosites: highest, and sums of values, of weights, and of doubt."""
    sums[:] = np.float32(0)
    for i in range(9):
        sums[colours[i], 0] = max(sums[colours[i], 0], near[i])
    for i in range(9):
        one, value, level = sums[colours[i]], near[i], levels[colours[i]]
        share = value / max(one[0], np.float32(1e-6))
        counts = smooth_step((share - settings[2]) * settings[3])
        if NEAR[i, 0] != 0 and NEAR[i, 1] != 0:
            counts *= np.float32(0.5)
        one[1] += counts * value
        one[2] += counts
        one[3] += counts * smooth_step((value / level - settings[0]) / settings[1])
    for c in range(3):
        some, there = max(sums[c, 2], np.float32(1e-9)), sums[c, 2] > np.float32(0)
        sums[c, 1] /= some
        sums[c, 3] = sums[c, 3] / some if there else np.float32(1)


@compiled
def raised(near, colours, all_lost, lent, levels, settings, sums):
    """A clipped photosite, raised to what those around it say."""
    one, zero, own = np.float32(1), np.float32(0), colours[0]
    gone = one
    if not all_lost:
        add_up(near, colours, levels, settings, sums)
        gone = min(sums[0, 3], sums[1, 3], sums[2, 3])
    r, g, b, fading = lent
    faded = gone * fading
    c0, c1, c2 = r + faded * (one - r), g + faded * (one - g), b + faded * (one - b)
    strongest = max(levels[0] / c0, levels[1] / c1, levels[2] / c2)
    lowest = max(strongest, levels[0] / r, levels[1] / g, levels[2] / b)
    light, colour = lowest, (c0, c1, c2)
    if not all_lost:
        known, total, whole, most = zero, zero, zero, zero
        for c in range(3):
            if c == own or sums[c, 2] == zero:
                continue
            says = sixteenth_power(levels[c] / colour[c] / strongest)
            known = one - sums[c, 3] + sums[c, 3] * says
            total += known * sums[c, 1]
            whole += known * colour[c]
            most = max(most, known)
        found = total / max(whole, np.float32(1e-6))
        light = lowest + most / (most + settings[4]) * (one - sixteenth_power(gone)) * (found - lowest)
    wanted = min(light * colour[own], settings[5])
    unsure = smooth_step((near[0] / levels[own] - settings[0]) / settings[1])
    return near[0] + unsure * max(wanted - near[0], zero)
