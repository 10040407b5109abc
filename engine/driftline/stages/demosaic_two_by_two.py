"""Green of 2 × 2 patterns with green on a diagonal, from four directions weighed against each other.

Along rows and along columns green alternates with one other colour, so the difference of the two is found
at every photosite, each way, with the second derivative of what is measured there (the estimate that Menon,
Andriani & Calvagno, "Demosaicing With Directional Filtering and a posteriori Decision", IEEE Transactions on
Image Processing 16(1), 2007, start from). Which way is right is decided afterwards, from how much these
differences vary, and softly: the four half-directions are weighed by the inverse cube of the variation
towards each (after Pekkucuksen & Altunbasak, "Gradient based threshold free color filter array
interpolation", ICIP 2010, whose weights are inverse squares of sums over 5 × 5 photosites).

Departures, for thin coloured lines, which both would turn into dots: where the measured colour varies more
than the one looked for, its second derivative counts for less, as their ratio; and green stays near the
range of its four neighbours.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.stages.demosaic_colours import follow_green, slope_radius
from driftline.stages.demosaic_false_colour import SPACING, finished

Plane = NDArray[np.float32]

VARIATION_FLOOR = 1e-3
"""Added to every variation: where nothing varies the four directions count alike."""

LIVELINESS_FLOOR = 0.01
"""Added to how lively each colour is, before their ratio."""

SLACK = 0.5
"""How far green may leave the range of its four neighbours, as a share of that range."""


def applies_to(pattern: NDArray[Any]) -> bool:
    """Whether the pattern is 2 × 2 with two greens on a diagonal, one red and one blue."""
    if pattern.shape != (2, 2):
        return False
    return sorted(pattern.ravel().tolist()) == [0, 1, 1, 2] and (pattern[0, 0] == 1) == (pattern[1, 1] == 1)


def margin_of(pattern: NDArray[Any]) -> int:
    """Photosites to lengthen the mosaic by: 7 count for a green, 3 more for a slope and its neighbours."""
    return 7 + slope_radius(pattern) + 1 + SPACING


def interpolate(padded: Plane, colours: NDArray[np.intp], pattern: NDArray[Any]) -> NDArray[np.float32]:
    """Interpolate an encoded mosaic.

    Parameters
    ----------
    padded
        (H, W) encoded values, lengthened by :func:`margin_of`.
    colours
        (H, W) colour of each photosite.
    pattern
        (2, 2), one for which :func:`applies_to` holds.

    Returns
    -------
    NDArray
        (H, W, 3) encoded; worthless in the margin.
    """
    green = np.where(colours == 1, padded, _limited(padded + _green_less_other(padded, colours), padded))
    found = [follow_green(padded, green, colours == colour, pattern) for colour in (0, 2)]
    return finished(padded, green, colours, found)


def _green_less_other(mosaic: Plane, colours: NDArray[np.intp]) -> Plane:
    """Green less the colour measured, at photosites of other colours."""
    sign = np.where(colours == 1, np.float32(1), np.float32(-1))
    lively = _liveliness(mosaic, colours)
    total: Plane = np.zeros_like(mosaic)
    weight: Plane = np.zeros_like(mosaic)
    for axis in (1, 0):
        difference = sign * (mosaic - _estimate(mosaic, axis, _trust(lively, colours, axis)))
        change = np.abs(_before(difference, -1, axis) - _before(difference, 1, axis))
        across = _before(change, 1, 1 - axis) + change + _before(change, -1, 1 - axis)
        for side in (1, -1):
            variation = across + _before(across, side, axis) + _before(across, 2 * side, axis)
            variation = variation + np.float32(VARIATION_FLOOR)
            there = difference * np.float32(0.5) + (
                _before(difference, side, axis) + _before(difference, 2 * side, axis)
            ) * np.float32(0.25)
            share = np.float32(1) / (variation * variation * variation)
            total, weight = total + share * there, weight + share
    return total / weight


def _estimate(mosaic: Plane, axis: int, trust: Plane) -> Plane:
    """The other colour along an axis: mean of its neighbours, bent as the measured colour bends."""
    near = _before(mosaic, 1, axis) + _before(mosaic, -1, axis)
    far = _before(mosaic, 2, axis) + _before(mosaic, -2, axis)
    bend = mosaic * np.float32(0.5) - far * np.float32(0.25)
    return np.asarray(near * np.float32(0.5) + trust * bend, dtype=np.float32)


def _trust(lively: Plane, colours: NDArray[np.intp], axis: int) -> Plane:
    """0 … 1, how much the measured colour's second derivative says of the other colour along an axis."""
    own = np.take_along_axis(lively, colours[None], axis=0)[0]
    other = np.take_along_axis(lively, _before(colours, 1, axis)[None], axis=0)[0]
    floor = np.float32(LIVELINESS_FLOOR)
    return np.asarray(np.minimum((other + floor) / (own + floor), 1), dtype=np.float32)


def _liveliness(mosaic: Plane, colours: NDArray[np.intp]) -> Plane:
    """(3, H, W) mean difference of each colour's photosites to the next of their colour, over 5 × 5."""
    change = np.zeros_like(mosaic)
    for axis in (1, 0):
        for steps in (2, -2):
            change = change + np.abs(mosaic - _before(mosaic, steps, axis))
    planes = []
    for colour in range(3):
        present = (colours == colour).astype(np.float32)
        planes.append(_square(change * present) / (4 * np.maximum(_square(present), 1)))
    return np.stack(planes)


def _square(plane: Plane) -> Plane:
    """Sums over 5 × 5."""
    for axis in (0, 1):
        plane = np.asarray(sum(_before(plane, steps, axis) for steps in range(-2, 3)), dtype=np.float32)
    return plane


def _limited(green: Plane, mosaic: Plane) -> Plane:
    """Green kept near the range of the four photosites around, all green."""
    around = np.stack([_before(mosaic, steps, axis) for axis in (1, 0) for steps in (1, -1)])
    low, high = around.min(axis=0), around.max(axis=0)
    slack = (high - low) * np.float32(SLACK)
    return np.asarray(np.minimum(np.maximum(green, low - slack), high + slack))


def _before(plane: NDArray[Any], steps: int, axis: int) -> NDArray[Any]:
    """The neighbour ``steps`` before along an axis; the margin takes what wraps round."""
    return np.roll(plane, steps, axis)
