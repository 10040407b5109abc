"""The colour filter pattern, and which sensors are not taken."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.errors import FrameError
from driftline.frames.directories import ACTIVE_AREA, CFA_DIM, CFA_PATTERN, Directory

_TAKEN = {(2, 2), (6, 6)}
_SECOND_GREEN = 3
_LINEAR = "convert the file to a linear DNG of three planes"
Indices = NDArray[np.int64]


def filter_pattern(
    path: Path, facts: dict[str, Any], dimensions: int, dng: Directory | None
) -> tuple[NDArray[np.uint8] | None, Indices | None]:
    """The pattern as colours, and as LibRaw's indices (3 is its second green); both None for planes.

    Parameters
    ----------
    path
        For messages.
    facts
        As the decoder child answers ``sensor``.
    dimensions
        2 for a mosaic, 3 for planes.
    dng
        The directory of the sensor values of a DNG file, or None.

    Raises
    ------
    FrameError
        ``frame-four-colours``, ``frame-one-colour``, or ``frame-layout`` for any pattern but 2 × 2 and
        6 × 6, and for photosites that are not square.
    """
    names = facts["color_desc"]
    _refuse_oblong(path, facts["sizes"]["pixel_aspect"])
    if facts["num_colors"] < 3 or (dimensions == 2 and facts["pattern"] is None):
        raise FrameError(
            "frame-one-colour",
            f"{path}: the sensor has no colour filter pattern; red, green and blue are needed",
            hint=_LINEAR,
        )
    if dimensions == 3:
        if facts["num_colors"] > 3:
            raise _four_colours(path, names)
        return None, None
    indices = shortest_period(np.asarray(facts["pattern"], dtype=np.int64))
    stated = None if dng is None else _stated_pattern(dng, facts["sizes"])
    if stated is not None and not np.array_equal(np.where(indices == _SECOND_GREEN, 1, indices), stated):
        indices = stated
    colours = _colours(path, indices, names)
    if colours.shape not in _TAKEN:
        rows, columns = colours.shape
        raise FrameError(
            "frame-layout",
            f"{path}: a colour filter pattern of {rows} × {columns}; 2 × 2 and 6 × 6 are taken",
            hint=_LINEAR,
        )
    return colours.astype(np.uint8), indices


def _colours(path: Path, indices: Indices, names: str) -> Indices:
    """Indices as 0 red, 1 green, 2 blue, by the decoder's names of them (``RGBG``)."""
    if indices.max() >= len(names) or not {names[index] for index in indices.flat} <= set("RGB"):
        raise _four_colours(path, names)
    return np.array(["RGB".find(name) for name in names])[indices]


def shortest_period(pattern: NDArray[Any]) -> NDArray[Any]:
    """The smallest block that repeats to a pattern, at least 2 × 2.

    Examples
    --------
    >>> shortest_period(np.array([[0, 1, 0, 1], [1, 2, 1, 2]])).tolist()
    [[0, 1], [1, 2]]
    """
    for axis in (0, 1):
        size = pattern.shape[axis]
        periods = (step for step in range(2, size) if size % step == 0)
        step = next((step for step in periods if (np.roll(pattern, step, axis) == pattern).all()), size)
        pattern = pattern.take(range(step), axis)
    return pattern


def _stated_pattern(dng: Directory, sizes: dict[str, Any]) -> NDArray[np.int64] | None:
    """CFAPattern as it lies from the values' first row and column on; it is stated from ActiveArea's.

    LibRaw hands out another pattern for a 6 × 6 one behind margins and for all larger than 2 × 2 but
    6 × 6 (measured, 0.22), so of a DNG file the tag itself counts.
    """
    shape = [int(number) for number in dng.numbers(CFA_DIM)]
    colours = dng.numbers(CFA_PATTERN)
    if len(shape) != 2 or shape[0] * shape[1] != len(colours):
        return None
    block = np.asarray(colours, dtype=np.int64).reshape(shape)
    area = dng.numbers(ACTIVE_AREA)[:2] or [0.0, 0.0]
    shift = (int(area[0]) - sizes["top_margin"], int(area[1]) - sizes["left_margin"])
    return shortest_period(np.roll(block, shift, axis=(0, 1)))


def _four_colours(path: Path, names: str) -> FrameError:
    return FrameError(
        "frame-four-colours",
        f"{path}: the sensor sees four colours ({', '.join(names)}); red, green and blue are needed",
        hint=_LINEAR,
    )


def _refuse_oblong(path: Path, aspect: float) -> None:
    if abs(aspect - 1) > 0.01:
        raise FrameError(
            "frame-layout",
            f"{path}: photosites {aspect:.3g} times as high as wide; square ones are needed",
            hint=_LINEAR,
        )
