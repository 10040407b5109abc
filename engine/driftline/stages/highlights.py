"""Rebuilding clipped highlights from the channels that did not clip, in pictures that are no mosaic.

After balance the channels clip at different levels, so a white lamp ends in magenta. A clipped channel is
raised to what the channels that are left, and the colour of the bright surroundings, say. Where no channel is
left the level is the lowest that contradicts none, and the colour fades to neutral. Of a mosaic
:mod:`driftline.stages.highlights_mosaic` does it before demosaicking.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB
from driftline.stages.surroundings import NO_PATTERN, START, doubt, places, sampled, sum_of, surroundings

HIGHEST = 4.0
"""Rebuilt values end at this many times the highest clip level: two stops."""

Pixels = NDArray[np.float32]


def rebuild(rgb: CameraRGB, *, clip: NDArray[Any]) -> CameraRGB:
    """Rebuild clipped channels; values are only ever raised.

    Parameters
    ----------
    rgb
        (H, W, 3) float32, linear, balanced camera RGB that was never a mosaic.
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
    at = places(rgb.shape, NO_PATTERN)
    everywhere = np.ones(rgb.shape[:2], bool)
    around = surroundings([rgb[..., c] for c in range(3)], [everywhere] * 3, at, levels=levels)
    out = rgb.copy()
    out[y, x] = raised(rgb[y, x], sampled(around, y, x, at.block), levels)
    return out


def raised(values: Pixels, around: Pixels, levels: Pixels) -> Pixels:
    """Raise clipped channels.

    Parameters
    ----------
    values
        (n, 3) pixels.
    around
        (n, 4) what :func:`driftline.stages.surroundings.spread` says there.
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
    colour, lowest = when_lost(all_lost, around, levels)
    light = sum_of(known * values) / np.maximum(sum_of(known * colour), np.float32(1e-6))
    light = light + all_lost * (lowest - light)
    wanted = np.minimum(light[:, None] * colour, np.float32(HIGHEST) * levels.max())
    return np.asarray(values + unsure * np.maximum(wanted - values, 0), dtype=np.float32)


def when_lost(all_lost: Pixels, around: Pixels, levels: Pixels) -> tuple[Pixels, Pixels]:
    """Colour (n, 3) that surroundings lend, and (n,) the light where no channel is left.

    That is the lowest that contradicts none, and no less than at the rim, where the colour has not faded yet.
    """
    lent, faded = around[:, :3], (all_lost * around[:, 3])[:, None]
    colour = lent + faded * (1 - lent)
    return colour, np.maximum((levels / colour).max(axis=-1), (levels / lent).max(axis=-1))
