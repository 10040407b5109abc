"""Rebuilding clipped highlights from the channels that did not clip.

After balance the channels clip at different levels, so a white lamp ends in magenta. A clipped channel is
raised to what the channels that are left, and the colour of the bright surroundings, say. Where no channel is
left the level is the lowest that contradicts none, and the colour fades to neutral.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB
from driftline.stages.pyramid import blurred, pull_push, smooth

START = 0.96
"""Share of the clip level at which a channel begins to be doubted; at the level it counts for nothing."""

BLOCKS = 384
"""Blocks along the longer side of the frame, about: on their grid colour is gathered, and spread."""

SAMPLES = 4
"""Pixels along the side of a block that are looked at, evenly apart."""

DARKEST, BOLDEST = 0.4, 2.0
"""Channel over mean of channels: the colours that surroundings may lend."""

TAINTED = 0.02
"""Weight of what lies in a block with a clipped pixel, where interpolation mixes it with clipped values."""

ENOUGH = 0.2
"""Weight per pixel at which a block's own colour is all that counts for it."""

HIGHEST = 4.0
"""Rebuilt values end at this many times the highest clip level: two stops."""

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
    >>> rebuild(lamp, clip=np.array([2.0, 1.0, 1.5]))[4, 4].tolist()
    [2.0, 2.0, 2.0]
    """
    levels = np.asarray(clip, dtype=np.float32)
    y, x = np.nonzero(np.any(rgb > np.float32(START) * levels, axis=-1))
    if not y.size:
        return rgb
    step = step_of(rgb.shape)
    around = spread(*gather(rgb[::step, ::step], levels))
    out = rgb.copy()
    out[y, x] = raised(rgb[y, x], sampled(around, y, x, SAMPLES * step), levels)
    return out


def step_of(shape: tuple[int, ...]) -> int:
    """Distance in pixels between those that are looked at: colour is gathered from every so many."""
    return max(1, max(shape[:2]) // (BLOCKS * SAMPLES))


def gather(rgb: CameraRGB, levels: Pixels) -> tuple[Pixels, Pixels, Pixels]:
    """What blocks of pixels know.

    Parameters
    ----------
    rgb
        (H, W, 3), the pixels that are looked at.
    levels
        (3,) clip levels.

    Returns
    -------
    tuple
        (h, w, 3) sums of colours over their mean, weighed; (h, w) their weights; and (h, w) how many pixels
        have lost all channels. Bright pixels weigh most, doubted ones nothing.
    """
    nearness = rgb / levels
    highest, lowest = nearness.max(axis=-1), nearness.min(axis=-1)
    bright = np.clip(highest, 0, 1)
    weight = np.where(highest < np.float32(START), bright * bright, 0).astype(np.float32)
    mean = np.maximum(_sum(rgb) * np.float32(1 / 3), np.float32(1e-6))
    colour = np.clip(rgb / mean[..., None], np.float32(DARKEST), np.float32(BOLDEST)) * weight[..., None]
    tainted = _summed(highest >= np.float32(START)) > 0
    share = np.where(tainted, np.float32(TAINTED), np.float32(1))
    return _summed(colour) * share[..., None], _summed(weight) * share, _summed(lowest >= np.float32(START))


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
    known = np.minimum(weight / (np.float32(ENOUGH) * area), np.float32(1))
    mean = np.asarray(colour / np.maximum(weight, np.float32(1e-9))[..., None], dtype=np.float32)
    lent = smooth(pull_push(mean, known, nothing=1.0))
    lent = lent / (_sum(lent) * np.float32(1 / 3))[..., None]
    inside = blurred((lost / area)[..., None], halvings=2)
    part = np.clip(inside * 2 - 1, 0, 1)
    return np.concatenate([lent, part * part * (3 - 2 * part)], axis=-1).astype(np.float32)


def doubt(values: Pixels, levels: Pixels) -> Pixels:
    """0 where a channel is surely below its clip level, 1 where it reached it, smooth between."""
    part = np.clip((values / levels - np.float32(START)) / np.float32(1 - START), 0, 1)
    return np.asarray(part * part * (3 - 2 * part), dtype=np.float32)


def raised(values: Pixels, around: Pixels, levels: Pixels) -> Pixels:
    """Raise clipped channels.

    Parameters
    ----------
    values
        (n, 3) pixels.
    around
        (n, 4) what :func:`spread` says there.
    levels
        (3,) clip levels.

    Returns
    -------
    NDArray
        (n, 3) float32.
    """
    unsure = doubt(values, levels)
    known = 1 - unsure
    all_lost = unsure.min(axis=-1)
    lent, faded = around[:, :3], (all_lost * around[:, 3])[:, None]
    colour = lent + faded * (1 - lent)
    light = _sum(known * values) / np.maximum(_sum(known * colour), np.float32(1e-6))
    # Where no channel is left: the lowest light that contradicts none, and no less than at the rim, where the
    # colour has not faded yet.
    lowest = np.maximum((levels / colour).max(axis=-1), (levels / lent).max(axis=-1))
    light = light + all_lost * (lowest - light)
    wanted = np.minimum(light[:, None] * colour, np.float32(HIGHEST) * levels.max())
    return np.asarray(values + unsure * np.maximum(wanted - values, 0), dtype=np.float32)


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


def _sum(channels: Pixels) -> Pixels:
    return np.asarray(channels[..., 0] + channels[..., 1] + channels[..., 2])


def _summed(plane: NDArray[Any]) -> Pixels:
    """Sums over blocks of samples; those at the far edges may be smaller."""
    rows, columns = (np.arange(0, size, SAMPLES) for size in plane.shape[:2])
    return np.add.reduceat(np.add.reduceat(plane.astype(np.float32), rows, axis=0), columns, axis=1)
