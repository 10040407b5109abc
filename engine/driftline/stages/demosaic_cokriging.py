"""Demosaicking of any repeating pattern: colour differences by directional cokriging, decided afterwards.

For each of four directions and two models of the picture (:mod:`driftline.stages.demosaic_weights`) red less
green and blue less green are estimated everywhere. Where these differences vary least along the model's
direction the model is right, as in Menon, Andriani & Calvagno ("Demosaicing With Directional Filtering and a
posteriori Decision", IEEE Transactions on Image Processing 16(1), 2007); it is chosen softly. Red and blue
then mostly follow green, along the same directions; false colour on thin lines is taken out last.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.stages.demosaic_colours import slope_radius, slopes_against_green
from driftline.stages.demosaic_false_colour import REACH, alternation, finished
from driftline.stages.demosaic_weights import (
    DIRECTIONS,
    difference_radius,
    difference_weights,
    following_radius,
    following_weights,
    offsets,
)

Plane = NDArray[np.float32]

VARIATION_FLOOR = 1e-3
"""Added to every variation: where nothing varies all models count alike."""

DIAGONAL_STEP = 0.8
"""A diagonal step is longer, so more varies over it."""

FOLLOWING = 0.75
"""Share of red and blue that follows green; the rest is the cokriged difference."""

SLACK = 0.5
"""How far green may leave the range of the green photosites around, as a share of that range."""


def margin_of(pattern: NDArray[Any]) -> int:
    """Photosites to lengthen the mosaic by."""
    return difference_radius(pattern) + 3 + slope_radius(pattern) + following_radius(pattern) + REACH


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
    differences, shares = _differences(padded, pattern)
    green = padded - np.where(colours == 0, *differences)
    green = np.where(colours == 1, padded, _limited(green, padded, colours == 1))
    found = [
        _of_colour(2 * at, padded, green, colours, (difference, shares), pattern)
        for at, difference in enumerate(differences)
    ]
    return finished(padded, green, colours, found, alternation(green))


def _of_colour(
    colour: int,
    padded: Plane,
    green: Plane,
    colours: NDArray[np.intp],
    cokriged: tuple[Plane, Plane],
    pattern: NDArray[Any],
) -> tuple[Plane, Plane]:
    """Red (0) or blue (2) less green everywhere, and its slope against green."""
    own, (difference, shares) = colours == colour, cokriged
    slope, rest = slopes_against_green(padded, green, own, pattern)
    slopes, following = _following(slope, rest, green, shares, colour // 2, pattern)
    mixed = np.float32(FOLLOWING) * following + np.float32(1 - FOLLOWING) * (green + difference)
    return np.where(own, padded, mixed) - green, np.where(own, slope, slopes)


def _differences(mosaic: Plane, pattern: NDArray[Any]) -> tuple[Plane, Plane]:
    """(2, H, W) red and blue less green, and the share (4, H, W) of each direction in them."""
    total = np.zeros((2, *mosaic.shape), np.float32)
    shares = np.zeros((len(DIRECTIONS), *mosaic.shape), np.float32)
    for table in difference_weights(pattern.astype(np.uint8).tobytes(), pattern.shape):
        for direction, step in enumerate(DIRECTIONS):
            estimates = _filtered(mosaic, table[direction], pattern)
            variation = _variation(estimates, step) * np.float32(DIAGONAL_STEP if all(step) else 1)
            square = np.square(variation + np.float32(VARIATION_FLOOR))
            share = np.float32(1) / (square * square * square)
            total += share * estimates
            shares[direction] += share
    weight = shares[0] + shares[1] + shares[2] + shares[3]
    return total / weight, shares / weight


def _filtered(mosaic: Plane, table: NDArray[np.float32], pattern: NDArray[Any]) -> Plane:
    """(n, H, W) sums over neighbours by tables (n, p, q, taps)."""
    p, q = pattern.shape
    margin = margin_of(pattern)
    rows, columns = (
        (np.arange(size) - margin) % period for size, period in zip(mosaic.shape, (p, q), strict=True)
    )
    out = np.zeros((len(table), *mosaic.shape), np.float32)
    for tap, step in enumerate(offsets((int(np.sqrt(table.shape[-1])) - 1) // 2)):
        if table[..., tap].any():
            weight = table[:, :, :, tap][:, rows][:, :, columns]
            out += weight * np.roll(mosaic, (-step[0], -step[1]), (0, 1))
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


def _following(
    slope: Plane, rest: Plane, green: Plane, shares: Plane, at: int, pattern: NDArray[Any]
) -> tuple[Plane, Plane]:
    """Slope of red (``at`` 0) or blue (1), and it as it follows green; each direction counts by its share."""
    slopes, rests = np.zeros_like(green), np.zeros_like(green)
    tables = following_weights(pattern.astype(np.uint8).tobytes(), pattern.shape)
    for share, table in zip(shares, tables, strict=True):
        slopes = slopes + share * _filtered(slope, table[at : at + 1], pattern)[0]
        rests = rests + share * _filtered(rest, table[at : at + 1], pattern)[0]
    return slopes, np.asarray(slopes * green + rests, dtype=np.float32)
