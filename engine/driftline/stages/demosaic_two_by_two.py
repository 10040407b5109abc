"""Green of 2 × 2 patterns with green on a diagonal, from four directions weighed against each other.

Along rows and along columns green alternates with one other colour, so the difference of the two is found
at every photosite, each way, with the second derivative of what is measured there (the estimate that Menon,
Andriani & Calvagno, "Demosaicing With Directional Filtering and a posteriori Decision", IEEE Transactions on
Image Processing 16(1), 2007, start from). Which way is right is decided afterwards, from how much these
differences vary, and softly: the four half-directions are weighed by the inverse cube of the variation
towards each (after Pekkucuksen & Altunbasak, "Gradient based threshold free color filter array
interpolation", ICIP 2010, whose weights are inverse squares of sums over 5 × 5 photosites).
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.stages.demosaic_colours import follow_green, reach

Plane = NDArray[np.float32]

VARIATION_FLOOR = 1e-3
"""Added to every variation: where nothing varies the four directions count alike."""


def applies_to(pattern: NDArray[Any]) -> bool:
    """Whether the pattern is 2 × 2 with two greens on a diagonal, one red and one blue."""
    if pattern.shape != (2, 2):
        return False
    return sorted(pattern.ravel().tolist()) == [0, 1, 1, 2] and (pattern[0, 0] == 1) == (pattern[1, 1] == 1)


def margin_of(pattern: NDArray[Any]) -> int:
    """Photosites to lengthen the mosaic by: 5 count for a green, 3 more for a slope and its neighbours."""
    return 5 + reach(pattern)


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
    green = np.where(colours == 1, padded, padded + _green_less_other(padded, colours == 1))
    red, blue = (follow_green(padded, green, colours == colour, pattern) for colour in (0, 2))
    return np.stack([red, green, blue], axis=-1)


def _green_less_other(mosaic: Plane, is_green: NDArray[np.bool_]) -> Plane:
    """Green less the colour measured, at photosites of other colours."""
    sign = np.where(is_green, np.float32(1), np.float32(-1))
    total, weight = np.zeros_like(mosaic), np.zeros_like(mosaic)
    for axis in (1, 0):
        difference = sign * (mosaic - _estimate(mosaic, axis))
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


def _estimate(mosaic: Plane, axis: int) -> Plane:
    """The other colour along an axis: mean of its neighbours, bent as the measured colour bends."""
    near = _before(mosaic, 1, axis) + _before(mosaic, -1, axis)
    far = _before(mosaic, 2, axis) + _before(mosaic, -2, axis)
    return (near + mosaic) * np.float32(0.5) - far * np.float32(0.25)


def _before(plane: Plane, steps: int, axis: int) -> Plane:
    """The neighbour ``steps`` before along an axis; the margin takes what wraps round."""
    return np.roll(plane, steps, axis)
