"""Demosaicking of 2 × 2 patterns with green on one diagonal: directional, decided afterwards.

Menon, Andriani & Calvagno, "Demosaicing With Directional Filtering and a posteriori Decision", IEEE
Transactions on Image Processing 16(1), 2007: green is interpolated along rows and along columns, both with
the other colour's second derivative; the direction along which colour differences vary less is chosen; red
and blue follow along the chosen direction; a refining step replaces the high frequencies.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Plane = NDArray[np.float32]
MARGIN = 12


def applies_to(pattern: NDArray[Any]) -> bool:
    """Whether the pattern is 2 × 2 with two greens on a diagonal, one red and one blue."""
    if pattern.shape != (2, 2):
        return False
    return sorted(pattern.ravel().tolist()) == [0, 1, 1, 2] and (pattern[0, 0] == 1) == (pattern[1, 1] == 1)


def interpolate(encoded: Plane, pattern: NDArray[Any]) -> NDArray[np.float32]:
    """Interpolate an encoded (H, W) mosaic to (H, W, 3)."""
    height, width = encoded.shape
    padded = np.pad(encoded, MARGIN, mode="reflect")
    rows, columns = np.indices(padded.shape)
    colour = np.asarray(pattern)[(rows + MARGIN) % 2, (columns + MARGIN) % 2]
    planes = _directional(padded, colour)
    inside = slice(MARGIN, MARGIN + height), slice(MARGIN, MARGIN + width)
    return np.ascontiguousarray(planes[inside])


def _directional(mosaic: Plane, colour: NDArray[Any]) -> NDArray[np.float32]:
    is_green = colour == 1
    along_rows = [_green(mosaic, axis) for axis in (1, 0)]
    differences = [np.where(is_green, 0, mosaic - green) for green in along_rows]
    horizontal = _variation(differences[1], 0) >= _variation(differences[0], 1)
    green = np.where(is_green, mosaic, np.where(horizontal, *along_rows))
    red, blue = _other_colours(mosaic, green, colour, horizontal)
    return _refine(np.stack([red, green, blue], axis=-1), colour, horizontal)


def _green(mosaic: Plane, axis: int) -> Plane:
    """Green along one axis: mean of two neighbours and the other colour's second derivative."""
    near = (_shift(mosaic, 1, axis) + _shift(mosaic, -1, axis)) / 2
    far = (_shift(mosaic, 2, axis) + _shift(mosaic, -2, axis)) / 4
    return np.asarray(near + mosaic / 2 - far, dtype=np.float32)


def _variation(difference: Plane, axis: int) -> Plane:
    """How much colour differences vary along an axis, summed over a 5 × 5 neighbourhood."""
    change = np.abs(
        _shift(difference, -1, axis) - _shift(difference, 1, axis)
    )  # centred between its two ends
    other = 1 - axis
    here = _shift(change, 1, axis) + _shift(change, -1, axis)
    beside = _shift(change, 1, other) + _shift(change, -1, other)
    return 3 * here + beside + _shift(here, 2, other) + _shift(here, -2, other)


def _other_colours(
    mosaic: Plane, green: Plane, colour: NDArray[Any], horizontal: NDArray[np.bool_]
) -> tuple[Plane, Plane]:
    """Red and blue: at green along row or column, at each other along the chosen direction."""
    planes = []
    for wanted in (0, 2):
        in_row = _is_row_of(colour, wanted)
        own = np.where(colour == wanted, mosaic - green, 0)
        at_green = green + np.where(in_row, _mean(own, 1), _mean(own, 0))
        planes.append(np.where(colour == wanted, mosaic, at_green))
    red, blue = planes
    chroma = np.where(colour == 1, red - blue, 0)
    across = np.where(horizontal, _mean(chroma, 1), _mean(chroma, 0))
    return (
        np.where(colour == 2, mosaic + across, red).astype(np.float32),
        np.where(colour == 0, mosaic - across, blue).astype(np.float32),
    )


def _refine(
    rgb: NDArray[np.float32], colour: NDArray[Any], horizontal: NDArray[np.bool_]
) -> NDArray[np.float32]:
    """Let green at red and blue, then red and blue, take their high frequencies from each other."""
    red, green, blue = (rgb[..., channel] for channel in range(3))
    for wanted, plane in ((0, red), (2, blue)):
        smooth = _smooth(plane - green, horizontal)
        green = np.where(colour == wanted, plane - smooth, green)
    planes = []
    for wanted, plane in ((0, red), (2, blue)):
        difference = plane - green
        crossing = np.where(_is_row_of(colour, wanted), _mean(difference, 1), _mean(difference, 0))
        planes.append(np.where(colour == 1, green + crossing, plane))
    red, blue = planes
    smooth = _smooth(red - blue, horizontal)
    refined = np.where(colour == 2, blue + smooth, red), green, np.where(colour == 0, red - smooth, blue)
    return np.stack(refined, axis=-1).astype(np.float32)


def _is_row_of(colour: NDArray[Any], wanted: int) -> NDArray[np.bool_]:
    return np.broadcast_to(np.any(colour == wanted, axis=1, keepdims=True), colour.shape)


def _smooth(plane: Plane, horizontal: NDArray[np.bool_]) -> Plane:
    means = [(plane + 2 * _mean(plane, axis)) / 3 for axis in (1, 0)]
    return np.where(horizontal, *means)


def _mean(plane: Plane, axis: int) -> Plane:
    return np.asarray((_shift(plane, 1, axis) + _shift(plane, -1, axis)) / 2, dtype=np.float32)


def _shift(plane: Plane, by: int, axis: int) -> Plane:
    """The neighbour ``by`` steps before; the margin takes what wraps round."""
    return np.roll(plane, by, axis)
