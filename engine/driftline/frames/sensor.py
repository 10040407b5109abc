"""What the sensor recorded, and the numbers that give it meaning."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import Matrix
from driftline.errors import FrameError
from driftline.frames.matrices import camera_colour, multipliers
from driftline.frames.orientation import flip_to_orientation

Crop = tuple[int, int, int, int]


@dataclass(frozen=True)
class Sensor:
    """The decoded mosaic (or planes) of one frame.

    Attributes
    ----------
    values
        uint16 (H, W) mosaic or (H, W, 3) planes; the visible area as decoded: not turned, not cropped.
    pattern
        uint8 (p, q) colour filter pattern at ``values[0, 0]``: 0 red, 1 green, 2 blue; None for planes.
    black
        float64, black level of each photosite of the pattern, (p, q), or of each plane, (3,).
    white
        float64 (3,), the value at which each colour counts as full.
    as_shot
        float64 (3,) white balance multipliers, green 1, or None.
    as_shot_problem
        Why there is no as-shot white, or ''.
    daylight
        float64 (3,) multipliers that balance daylight (D65), green 1, from the matrix.
    camera_to_srgb
        float64 (3, 3) balanced camera RGB to linear sRGB; rows sum to 1.
    xyz_to_camera
        float64 (3, 3) XYZ under D65 to camera RGB, scaled so that daylight's green is 1; None if unknown.
    orientation
        EXIF orientation, 1 to 8: how ``values`` must be turned to be upright.
    crop
        (top, left, height, width) of the picture proper within ``values``.
    doubts
        What about these numbers is a guess, in words.
    """

    values: NDArray[np.uint16]
    pattern: NDArray[np.uint8] | None
    black: NDArray[np.float64]
    white: NDArray[np.float64]
    as_shot: NDArray[np.float64] | None
    as_shot_problem: str
    daylight: NDArray[np.float64]
    camera_to_srgb: Matrix
    xyz_to_camera: Matrix | None
    orientation: int
    crop: Crop
    doubts: tuple[str, ...] = ()


def make_sensor(path: Path, facts: dict[str, Any], values: NDArray[np.uint16]) -> Sensor:
    """Give decoded values their meaning.

    Raises
    ------
    FrameError
        ``frame-four-colours``, ``frame-one-colour`` or ``frame-layout`` for sensors that are not taken.
    """
    _refuse_other_layouts(path, facts, values)
    pattern = facts["pattern"] if values.ndim == 2 else None
    colours = None if pattern is None else _three_colours(path, np.asarray(pattern), facts["color_desc"])
    colour = camera_colour(facts)
    as_shot, problem = as_shot_white(facts["camera_whitebalance"], colour.daylight)
    crop, crop_doubt = inset_crop(facts["sizes"], values.shape)
    return Sensor(
        values=values,
        pattern=colours,
        black=_black(pattern, facts["black"]),
        white=np.full(3, float(facts["white"])),
        as_shot=as_shot,
        as_shot_problem=problem,
        daylight=colour.daylight,
        camera_to_srgb=colour.camera_to_srgb,
        xyz_to_camera=colour.xyz_to_camera,
        orientation=flip_to_orientation(facts["sizes"]["flip"]),
        crop=crop,
        doubts=tuple(filter(None, (colour.doubt, crop_doubt))),
    )


def as_shot_white(
    camera: list[float], daylight: NDArray[np.float64]
) -> tuple[NDArray[np.float64] | None, str]:
    """The as-shot multipliers, or why there are none.

    Parameters
    ----------
    camera
        Red, green, blue (and second green) as the file states them.
    daylight
        (3,) multipliers that balance daylight for this camera.

    Returns
    -------
    multipliers, problem
        (3,) with green 1 and '', or None and the reason.

    Examples
    --------
    >>> as_shot_white([-1.0, 0.976, 1.007, 0.0], np.array([2.1, 1.0, 1.06]))[1]
    'the file states no usable as-shot white: red -1, green 0.976, blue 1.007; each must be positive'
    """
    as_shot = multipliers(camera)
    if as_shot is None:
        stated = ", ".join(
            f"{name} {value:.4g}" for name, value in zip(("red", "green", "blue"), camera, strict=False)
        )
        return None, f"the file states no usable as-shot white: {stated}; each must be positive"
    if np.ptp(as_shot) == 0 and np.abs(np.log2(daylight)).max() > 0.3:
        daylight_words = ", ".join(f"{value:.2f}" for value in daylight)
        problem = f"the file states the multipliers 1, 1, 1, which is no white of a sensor that needs {daylight_words} in daylight"
        return None, problem
    return as_shot, ""


def inset_crop(sizes: dict[str, Any], shape: tuple[int, ...]) -> tuple[Crop, str]:
    """The picture proper as (top, left, height, width) within the visible area, and a doubt or ''.

    LibRaw counts the crop from the corner of the full raw, and 0 means that it is unknown.
    """
    whole = (0, 0, shape[0], shape[1])
    height, width = sizes["crop_height"], sizes["crop_width"]
    if not (0 < height < 65535 and 0 < width < 65535):
        return whole, ""
    top = sizes["crop_top_margin"] - sizes["top_margin"]
    left = sizes["crop_left_margin"] - sizes["left_margin"]
    if top < 0 or left < 0 or top + height > shape[0] or left + width > shape[1]:
        return (
            whole,
            f"the stated crop {width} × {height} at {left}, {top} does not fit into the picture area",
        )
    return (top, left, height, width), ""


def _refuse_other_layouts(path: Path, facts: dict[str, Any], values: NDArray[np.uint16]) -> None:
    if facts["num_colors"] == 4 and facts["color_desc"] != "RGBG":
        _refuse_four_colours(path, facts["color_desc"])
    if facts["num_colors"] < 3 or (values.ndim == 2 and facts["pattern"] is None):
        raise FrameError(
            "frame-one-colour",
            f"{path}: a sensor without a colour filter pattern; red, green and blue are needed",
            hint="convert the file to a linear DNG with three planes",
        )
    if abs(facts["sizes"]["pixel_aspect"] - 1) > 0.01:
        raise FrameError(
            "frame-layout",
            f"{path}: photosites {facts['sizes']['pixel_aspect']:.3g} times as high as wide; square ones are needed",
            hint="convert the file to a linear DNG with square pixels",
        )


def _three_colours(path: Path, pattern: NDArray[np.int64], names: str) -> NDArray[np.uint8]:
    colours = np.array(["RGB".find(name) for name in names])[pattern]
    if (colours < 0).any():
        _refuse_four_colours(path, names)
    return colours.astype(np.uint8)


def _refuse_four_colours(path: Path, names: str) -> None:
    raise FrameError(
        "frame-four-colours",
        f"{path}: a colour filter pattern of four colours ({', '.join(names)}); red, green and blue are needed",
        hint="convert the file to a linear DNG with three planes",
    )


def _black(pattern: list[list[int]] | None, black: list[int]) -> NDArray[np.float64]:
    """Black of each photosite of the pattern; LibRaw lists it by colour index, the second green last."""
    levels = np.asarray(black, dtype=np.float64)
    return levels[:3] if pattern is None else levels[np.asarray(pattern)]
