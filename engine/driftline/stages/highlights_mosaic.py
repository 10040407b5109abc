"""Rebuilding clipped highlights on the mosaic, before demosaicking (between steps 2 and 3).

A clipped white surface is magenta after balance, because green clips lowest. Interpolation would carry that
into every dark mark on it, and from there no later step could take it away: the marks themselves are not
clipped. So clipped photosites are raised first, to what :mod:`driftline.stages.highlights` says of pixels;
what is interpolated then has the colour of its light.

A photosite has measured one colour only, and the others come from the eight around it. It is bright itself,
so of each colour the brighter ones count: the others may lie on a mark, or beyond the edge of the lamp. A
clipped neighbour still says that the light is at least so strong, which counts where no other colour could
have said more.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import Mosaic
from driftline.stages.demosaic_margin import colours_of
from driftline.stages.highlights import HIGHEST, when_lost
from driftline.stages.surroundings import START, doubt, places, sampled, surroundings

OTHER_SIDE, SAME_SIDE = 0.4, 0.7
"""Shares of the brightest of its colour at which a neighbour counts for nothing, and in full."""

LITTLE = 0.01
"""What neighbours know in all at which it counts for half."""

Pixels = NDArray[np.float32]
STEPS = [(0, 0), *((y, x) for y in (-1, 0, 1) for x in (-1, 0, 1) if y or x)]


def rebuild_mosaic(mosaic: Mosaic, pattern: NDArray[Any], *, clip: NDArray[Any]) -> Mosaic:
    """Raise clipped photosites; none is ever lowered.

    Parameters
    ----------
    mosaic
        (H, W) float32, linear, balanced.
    pattern
        (p, q) of 0 red, 1 green, 2 blue.
    clip
        (3,) level at which each colour clips in these units: its multiplier, with green's 1.

    Returns
    -------
    Mosaic
        (H, W) float32; photosites below ``START`` of their clip level come back as they were. May exceed
        every clip level.

    Examples
    --------
    A lamp that clips everywhere turns neutral:

    >>> pattern, clip = np.array([[0, 1], [1, 2]]), np.array([2.0, 1.0, 1.5])
    >>> lamp = np.tile(clip[pattern].astype(np.float32), (4, 4))
    >>> np.unique(rebuild_mosaic(lamp, pattern, clip=clip)).tolist()
    [2.0]
    """
    levels, colours = np.asarray(clip, dtype=np.float32), colours_of(pattern, mosaic.shape)
    y, x = np.nonzero(mosaic > np.float32(START) * levels[colours])
    at = places(mosaic.shape, pattern)
    around = surroundings([mosaic] * 3, [colours == c for c in range(3)], at, levels=levels)
    out = mosaic.copy()
    out[y, x] = _raised(mosaic, colours, y, x, sampled(around, y, x, at.block), levels)
    return out


def _raised(
    mosaic: Mosaic,
    colours: NDArray[np.intp],
    y: NDArray[Any],
    x: NDArray[Any],
    around: Pixels,
    levels: Pixels,
) -> Pixels:
    own, values = colours[y, x], mosaic[y, x]
    mean, unsure, found = _neighbours(mosaic, colours, y, x, levels)
    all_lost = unsure.min(axis=-1)
    colour, lowest = when_lost(all_lost, around, levels)
    # What a clipped colour still says: nothing, unless it clips at the strongest light of all.
    bounds = levels / colour
    says = _sixteenth_power(bounds / bounds.max(axis=-1, keepdims=True))
    known = np.where(found & (np.arange(3) != own[:, None]), 1 - unsure + unsure * says, 0)
    light = (known * mean).sum(axis=-1) / np.maximum((known * colour).sum(axis=-1), np.float32(1e-6))
    most = known.max(axis=-1)
    share = most / (most + np.float32(LITTLE)) * (1 - _sixteenth_power(all_lost))
    light = lowest + share * (light - lowest)
    wanted = np.minimum(light * colour[np.arange(own.size), own], np.float32(HIGHEST) * levels.max())
    return np.asarray(values + doubt(values, levels[own]) * np.maximum(wanted - values, 0), dtype=np.float32)


def _neighbours(
    mosaic: Mosaic, colours: NDArray[np.intp], y: NDArray[Any], x: NDArray[Any], levels: Pixels
) -> tuple[Pixels, Pixels, NDArray[np.bool_]]:
    """(n, 3) mean of each colour's bright photosites among nine, how far to doubt it, and if there is any."""
    padded, which = np.pad(mosaic, 1), np.pad(colours, 1, mode="wrap")
    nine = [
        (which[y + 1 + down, x + 1 + right], padded[y + 1 + down, x + 1 + right]) for down, right in STEPS
    ]
    each = np.arange(y.size)
    highest, total, weight, unsure = (np.zeros((y.size, 3), np.float32) for _ in range(4))
    for colour, value in nine:
        highest[each, colour] = np.maximum(highest[each, colour], value)
    for (down, right), (colour, value) in zip(STEPS, nine, strict=True):
        share = value / np.maximum(highest[each, colour], np.float32(1e-6))
        part = np.clip((share - np.float32(OTHER_SIDE)) * np.float32(1 / (SAME_SIDE - OTHER_SIDE)), 0, 1)
        counts = part * part * (3 - 2 * part) * np.float32(0.5 if down and right else 1)
        total[each, colour] += counts * value
        weight[each, colour] += counts
        unsure[each, colour] += counts * doubt(value, levels[colour])
    some: Pixels = np.maximum(weight, np.float32(1e-9))
    doubted: Pixels = np.where(weight > 0, unsure / some, np.float32(1))
    return np.asarray(total / some, np.float32), doubted, weight > 0


def _sixteenth_power(values: Pixels) -> Pixels:
    for _ in range(4):
        values = values * values
    return values
