"""The colour around clipped highlights, looked at here and there, and spread over a coarse grid of blocks.

At each place that is looked at, nine photosites say the colour. They must agree: on an edge red, green and
blue are read from different sides of it, and of such places those with little green pass most often for
unclipped, because green clips first. Seen from there a white lamp would be magenta.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from driftline.stages.pyramid import blurred, pull_push, smooth

START = 0.96
"""Share of the clip level at which a channel begins to be doubted."""

FULL = 0.999
"""Share of the clip level at which it counts for nothing: the level itself, less what rounding may cost."""

BLOCKS = 384
"""Blocks along the longer side of the frame, at most: on their grid colour is gathered, and spread."""

SAMPLES = 2
"""Places along the side of a block that are looked at, evenly apart."""

TAPS = (1, 2, 1)
"""Weights of the nine photosites, along either axis."""

UNEVEN = 0.35
"""Highest less lowest of a colour among the nine, over their sum, at which the place counts for half."""

DARKEST, BOLDEST = 0.4, 2.0
"""Channel over mean of channels: the colours that surroundings may lend."""

ENOUGH = 0.2
"""Weight per place at which a block's own colour is all that counts for it."""

PLAIN = 0.0005
"""Weight per place of neutral: what is darker than a seventh of the clip level lends little colour."""

FAR = 0.00005
"""Weight per place of knowing nothing: where all is lost, colour that only far places lend fades."""

NO_PATTERN = np.zeros((1, 1), np.uint8)
"""Stands for the pattern of planes that hold all three colours everywhere."""

Pixels = NDArray[np.float32]


class SamplingGrid(NamedTuple):
    """Where a picture is looked at: from a row and a column on, every so many photosites."""

    row: int
    column: int
    step: int

    @property
    def block(self) -> int:
        """Photosites along the side of a block."""
        return SAMPLES * self.step

    def rows(self, height: int) -> NDArray[np.intp]:
        """Rows with one more on either side."""
        return np.arange(self.row, height - 1, self.step)

    def columns(self, width: int) -> NDArray[np.intp]:
        """Columns with one more on either side."""
        return np.arange(self.column, width - 1, self.step)

    def blocks(self, shape: tuple[int, ...]) -> tuple[int, int]:
        """Rows and columns of the grid of blocks, at least one each."""
        rows, columns = self.rows(shape[0]).size, self.columns(shape[1]).size
        return max(1, -(-rows // SAMPLES)), max(1, -(-columns // SAMPLES))


def places(shape: tuple[int, ...], pattern: NDArray[Any]) -> SamplingGrid:
    """Where to look at a mosaic of a pattern: where the nine of every colour lie best around the middle.

    Parameters
    ----------
    shape
        Of the mosaic.
    pattern
        (p, q) of 0 red, 1 green, 2 blue; or ``NO_PATTERN``.

    Examples
    --------
    >>> places((800, 1200), np.array([[0, 1], [1, 2]]))
    SamplingGrid(row=1, column=1, step=2)
    """
    unit = 1 if pattern.size == 1 else max(2, min(pattern.shape) // 2)
    step = unit * max(1, -(-max(shape[:2]) // (unit * BLOCKS * SAMPLES)))
    firsts = [(row, column) for row in range(1, unit + 1) for column in range(1, unit + 1)]
    row, column = min(firsts, key=lambda first: _astray(pattern, first, unit))
    return SamplingGrid(row, column, step)


def surroundings(
    planes: Sequence[Pixels], present: Sequence[NDArray[np.bool_]], at: SamplingGrid, *, levels: Pixels
) -> Pixels:
    """What the unclipped parts of a picture say about the colour of its clipped ones.

    Parameters
    ----------
    planes
        Red, green and blue (H, W) float32, linear, balanced.
    present
        (H, W) where each was measured.
    at
        Where to look.
    levels
        (3,) clip levels.

    Returns
    -------
    NDArray
        (h, w, 4) of blocks: colour over its mean, and how far it fades to neutral.
    """
    return spread(*gather(*look(planes, present, at), levels))


def look(
    planes: Sequence[Pixels], present: Sequence[NDArray[np.bool_]], at: SamplingGrid
) -> tuple[Pixels, Pixels, Pixels]:
    """What nine photosites at each place say: (h, w, 3) means, (h, w, 3) highest, (h, w) unevenness."""
    rows, columns = at.rows(planes[0].shape[0]), at.columns(planes[0].shape[1])
    means, highest, uneven = [], [], np.zeros((rows.size, columns.size), np.float32)
    for plane, there in zip(planes, present, strict=True):
        total, weight = np.zeros_like(uneven), np.zeros_like(uneven)
        high, low = np.full_like(uneven, -np.inf), np.full_like(uneven, np.inf)
        for down, right in np.ndindex(3, 3):
            where = np.ix_(rows + down - 1, columns + right - 1)
            value, tap = plane[where], np.float32(TAPS[down] * TAPS[right]) * there[where]
            total, weight = total + tap * value, weight + tap
            high = np.where(there[where], np.maximum(high, value), high)
            low = np.where(there[where], np.minimum(low, value), low)
        apart = (high - low) / np.maximum(high + low, np.float32(0.02))
        uneven = np.where(weight > 0, np.maximum(uneven, apart), np.inf).astype(np.float32)
        means.append(total / np.maximum(weight, np.float32(1e-9)))
        highest.append(high)
    return np.stack(means, axis=-1), np.stack(highest, axis=-1), uneven


def gather(means: Pixels, highest: Pixels, uneven: Pixels, levels: Pixels) -> tuple[Pixels, Pixels, Pixels]:
    """What blocks of places know.

    Returns
    -------
    tuple
        (h, w, 3) sums of colours over their mean, weighed; (h, w) their weights; and (h, w) how many places
        have lost all channels. Places weigh by the fourth power of how bright they are, clipped ones nothing.
    """
    nearness = highest / levels
    lost = nearness.min(axis=-1) >= np.float32(START)
    bright = np.clip((means / levels).max(axis=-1), 0, 1)
    bright = bright * bright
    part = uneven * np.float32(1 / UNEVEN)
    part = part * part
    part = part * part
    weight = bright * bright / (1 + part * part)
    weight = np.where(nearness.max(axis=-1) < np.float32(START), weight, 0).astype(np.float32)
    mean = np.maximum(sum_of(means) * np.float32(1 / 3), np.float32(1e-6))
    colour = np.clip(means / mean[..., None], np.float32(DARKEST), np.float32(BOLDEST)) * weight[..., None]
    return _summed(colour), _summed(weight), _summed(lost)


def spread(colour: Pixels, weight: Pixels, lost: Pixels) -> Pixels:
    """Spread colour into blocks that know none, and fade it where all is lost.

    Parameters
    ----------
    colour, weight, lost
        From :func:`gather`.

    Returns
    -------
    NDArray
        (h, w, 4): colour over its mean, and how far it fades to neutral.
    """
    area = np.float32(SAMPLES * SAMPLES)
    plain = np.float32(PLAIN) * area
    known = np.minimum(weight / (np.float32(ENOUGH) * area), np.float32(1))
    mean = np.asarray((colour + plain) / (weight + plain)[..., None], dtype=np.float32)
    lent = smooth(pull_push(mean, known, nothing=1.0))
    lent = lent / (sum_of(lent) * np.float32(1 / 3))[..., None]
    inside = blurred((lost / area)[..., None], halvings=3)
    part = np.clip(inside * 2 - 1, 0, 1)
    near = 1 - part * part * (3 - 2 * part)
    far = np.float32(FAR) * area
    known = np.minimum((weight + far) / (np.float32(ENOUGH) * area), np.float32(1))
    sure = smooth(pull_push((weight / (weight + far))[..., None], known, nothing=0.0))
    return np.concatenate([lent, 1 - near * sure], axis=-1).astype(np.float32)


def sampled(grid: Pixels, y: NDArray[Any], x: NDArray[Any], block: int) -> Pixels:
    """The grid of blocks at pixels, bilinearly."""
    parts = []
    for at, size in ((y, grid.shape[0]), (x, grid.shape[1])):
        place = (at.astype(np.float32) + np.float32(0.5)) * np.float32(1 / block) - np.float32(0.5)
        place = np.clip(place, 0, size - 1)
        low = place.astype(np.intp)
        parts.append((low, np.minimum(low + 1, size - 1), (place - low.astype(np.float32))[:, None]))
    (top, below, down), (left, beside, right) = parts
    upper = grid[top, left] + right * (grid[top, beside] - grid[top, left])
    lower = grid[below, left] + right * (grid[below, beside] - grid[below, left])
    return np.asarray(upper + down * (lower - upper), dtype=np.float32)


def doubt(values: Pixels, levels: Pixels) -> Pixels:
    """0 where a channel is surely below its clip level, 1 where it reached it, smooth between."""
    part = np.clip((values / levels - np.float32(START)) / np.float32(FULL - START), 0, 1)
    return np.asarray(part * part * (3 - 2 * part), dtype=np.float32)


def sum_of(channels: Pixels) -> Pixels:
    """The sum of three channels (..., 3)."""
    return np.asarray(channels[..., 0] + channels[..., 1] + channels[..., 2])


def _summed(plane: NDArray[Any]) -> Pixels:
    """Sums over blocks of places; those at the far edges may hold fewer."""
    height, width = (max(1, -(-size // SAMPLES)) for size in plane.shape[:2])
    whole = np.zeros((height * SAMPLES, width * SAMPLES, *plane.shape[2:]), np.float32)
    whole[: plane.shape[0], : plane.shape[1]] = plane
    return np.asarray(whole.reshape(height, SAMPLES, width, SAMPLES, *plane.shape[2:]).sum(axis=(1, 3)))


def _astray(pattern: NDArray[Any], first: tuple[int, int], unit: int) -> float:
    """How far from the middle the nine of each colour lie, summed over all places like this one."""
    (row, column), (height, width) = first, pattern.shape
    found = 0.0
    for y, x in np.ndindex(height, width):
        if (y - row) % np.gcd(unit, height) or (x - column) % np.gcd(unit, width):
            continue
        total = np.zeros((3, 3))
        for down, right in np.ndindex(3, 3):
            tap = TAPS[down] * TAPS[right]
            total[pattern[(y + down - 1) % height, (x + right - 1) % width]] += (
                tap,
                tap * (down - 1),
                tap * (right - 1),
            )
        found += sum(9.0 if not w else (v * v + h * h) / (w * w) for w, v, h in total.tolist())
    return found
