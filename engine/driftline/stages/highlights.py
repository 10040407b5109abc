"""Rebuilding clipped highlights from the channels that did not clip.

After balance the channels clip at different levels, so a white lamp ends in magenta. A clipped channel is
rebuilt from those that are not, by the colour of the bright surroundings; where no channel is known the
colour fades to neutral, at the lowest level that contradicts no channel.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from driftline.arrays import CameraRGB

START = 0.96
"""Share of the clip level at which a channel begins to be doubted; at the level it counts for nothing."""

BLOCK = 8
"""Colour is gathered, and spread, on a grid of blocks this many pixels wide."""

COLOUR_RANGE = (0.4, 2.0)
"""Channel over mean of channels: the colours that surroundings may lend."""

NEUTRAL_VOTE = 0.15
"""Weight of neutral at blocks where no channel is known, against 1 for a known bright colour."""

STRIP = 512

Pixels = NDArray[np.float32]


def rebuild(rgb: CameraRGB, *, clip: NDArray[Any]) -> CameraRGB:
    """Rebuild clipped channels; values are only ever raised.

    Parameters
    ----------
    rgb
        (H, W, 3) float32, linear, balanced camera RGB after demosaicking.
    clip
        (3,) level at which each channel clips in these units: its multiplier, with green's 1.

    Returns
    -------
    CameraRGB
        (H, W, 3) float32; pixels with no channel above ``START`` of its clip level come back as they were.
        May exceed every clip level: the shoulder of the curves deals with that.

    Examples
    --------
    A lamp that clips in all channels of a frame balanced by 2, 1 and 1.5 turns neutral:

    >>> lamp = np.broadcast_to(np.float32([2.0, 1.0, 1.5]), (8, 8, 3))
    >>> rebuild(lamp, clip=np.array([2.0, 1.0, 1.5]))[4, 4].round(3).tolist()
    [2.0, 2.0, 2.0]
    """
    levels = np.asarray(clip, dtype=np.float32)
    if not np.any(rgb > START * levels):
        return rgb
    out = rgb.copy()
    raise_clipped(out, levels, *gather(rgb, levels))
    return out


def raise_clipped(rgb: CameraRGB, levels: Pixels, total: Pixels, weight: Pixels) -> None:
    """Rebuild in place, strip by strip, from what :func:`gather` found."""
    colour = _spread(total, weight)
    for top in range(0, rgb.shape[0], STRIP):
        rows = slice(top, min(top + STRIP, rgb.shape[0]))
        if any_doubted(rgb[rows], levels):
            y, x = np.nonzero(np.any(rgb[rows] > START * levels, axis=-1))
            rgb[rows][y, x] = _raised(rgb[rows][y, x], _sample(colour, y + top, x), levels)


def any_doubted(strip: CameraRGB, levels: Pixels) -> bool:
    """Whether any channel of a strip is doubted."""
    return bool((strip.reshape(-1, 3).max(axis=0) > START * levels).any())


def doubt(rgb: Pixels, levels: Pixels) -> Pixels:
    """0 where a channel is surely below its clip level, 1 where it reached it, smooth between."""
    part = np.clip((rgb / levels - START) / (1 - START), 0, 1)
    return np.asarray(part * part * (3 - 2 * part), dtype=np.float32)


def _raised(values: Pixels, colour: Pixels, levels: Pixels) -> Pixels:
    """Clipped channels of (n, 3) pixels from the others and the surroundings' colour."""
    unsure = doubt(values, levels)
    known = 1 - unsure
    light = np.sum(known * values, axis=-1) / np.maximum(np.sum(known * colour, axis=-1), 1e-6)
    least = np.max(levels / colour, axis=-1)  # no channel is known: the lowest level that contradicts none
    trust = np.max(known, axis=-1)
    light = trust * light + (1 - trust) * least
    wanted = np.minimum(light[:, None] * colour, 2 * levels.max())
    return np.asarray(values + unsure * np.maximum(wanted - values, 0), dtype=np.float32)


def _spread(total: Pixels, weight: Pixels) -> Pixels:
    """(h, w, 3) colour over its mean, on the grid of blocks, spread into blocks that have none."""
    for reach in (1.5, 6.0, 24.0):
        near = np.maximum(_blur(weight, reach), 1e-6)
        guess = _blur(total, reach) / near[..., None]
        missing = np.clip(1 - weight / (0.02 * BLOCK * BLOCK), 0, 1)
        total = total + (missing * np.minimum(near, 1.0))[..., None] * guess
        weight = weight + missing * np.minimum(near, 1.0)
    total, weight = total + 1e-3, weight + 1e-3
    smooth = _blur(total, 1.0) / _blur(weight, 1.0)[..., None]
    smooth = np.clip(smooth, *COLOUR_RANGE)
    return np.asarray(smooth / smooth.mean(axis=-1, keepdims=True), dtype=np.float32)


def gather(rgb: CameraRGB, levels: Pixels) -> tuple[Pixels, Pixels]:
    """Sums over blocks of weighted colour, and of the weights; bright and unclipped weighs most."""
    height, width = rgb.shape[:2]
    h, w = -(-height // BLOCK), -(-width // BLOCK)
    total, weight = np.zeros((h, w, 3), np.float32), np.zeros((h, w), np.float32)
    for top in range(0, height, STRIP):
        # Four rows more on either side: what lies beside a clipped photosite is tainted by interpolation.
        above, below = max(top - 4, 0), min(top + STRIP + 4, height)
        part = rgb[above:below]
        nearness = np.max(part / levels, axis=-1)
        tainted = ndimage.maximum_filter(nearness, 7, mode="nearest") >= START
        lost = np.min(part / levels, axis=-1) >= START
        vote = np.where(tainted, np.where(lost, NEUTRAL_VOTE, 0), np.clip(nearness, 0, 1) ** 2)
        mean = np.maximum(part.mean(axis=-1, keepdims=True), 1e-4)
        colour = np.where(lost[..., None], 1, np.clip(part / mean, *COLOUR_RANGE)) * vote[..., None]
        rows = slice(top - above, top - above + min(STRIP, height - top))
        at = slice(top // BLOCK, -(-min(top + STRIP, height) // BLOCK))
        total[at], weight[at] = _blocks(colour[rows]), _blocks(vote[rows, :, None])[..., 0]
    return total, weight


def _blocks(plane: NDArray[Any]) -> Pixels:
    """Sums of (rows, W, C) over blocks."""
    rows = np.arange(0, plane.shape[0], BLOCK)
    columns = np.arange(0, plane.shape[1], BLOCK)
    return np.asarray(np.add.reduceat(np.add.reduceat(plane, rows, axis=0), columns, axis=1), np.float32)


def _blur(plane: Pixels, reach: float) -> Pixels:
    sigma = (reach, reach) + (0,) * (plane.ndim - 2)
    return np.asarray(ndimage.gaussian_filter(plane, sigma, mode="nearest"), dtype=np.float32)


def _sample(grid: Pixels, y: NDArray[Any], x: NDArray[Any]) -> Pixels:
    """The grid of blocks at pixels, bilinearly."""
    places = [
        np.clip((at + 0.5) / BLOCK - 0.5, 0, size - 1)
        for at, size in zip((y, x), grid.shape[:2], strict=True)
    ]
    (row, column), (down, right) = zip(*[np.divmod(place, 1) for place in places], strict=True)
    row, column = row.astype(np.intp), column.astype(np.intp)
    below, beside = np.minimum(row + 1, grid.shape[0] - 1), np.minimum(column + 1, grid.shape[1] - 1)
    down, right = down[:, None], right[:, None]
    upper = grid[row, column] * (1 - right) + grid[row, beside] * right
    lower = grid[below, column] * (1 - right) + grid[below, beside] * right
    return np.asarray(upper * (1 - down) + lower * down, dtype=np.float32)
