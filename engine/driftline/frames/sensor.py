"""What the sensor recorded, and the numbers that give it meaning."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import Matrix
from driftline.errors import FrameError
from driftline.frames.directories import Directories
from driftline.frames.emptiness import largest_in_rows, refuse_nothing
from driftline.frames.geometry import Crop, picture_crop, stored_orientation
from driftline.frames.levels import black_levels, mean_signal, saturation_levels, white_levels
from driftline.frames.matrices import camera_colour
from driftline.frames.noise_profile import noise_profile
from driftline.frames.pattern import filter_pattern
from driftline.frames.white import as_shot_white


@dataclass(frozen=True)
class Sensor:
    """The decoded mosaic (or planes) of one frame.

    Attributes
    ----------
    values
        uint16 (H, W) mosaic or (H, W, 3) planes; the visible area as decoded: not turned, not cropped.
    pattern
        uint8 (2, 2) or (6, 6) colour filter pattern at ``values[0, 0]``: 0 red, 1 green, 2 blue; None for
        planes.
    black
        float64, black level of each photosite of the pattern, same shape, or of each plane, (3,).
    white
        float64 (3,), the value at which each colour counts as full: 1.0 after linearising.
    saturation
        float64 (3,), the value from which on each colour is clipped in this frame; at most ``white``.
    as_shot
        float64 (3,) white balance multipliers, green 1, or None.
    as_shot_problem
        Why there is no as-shot white, or ''.
    daylight
        float64 (3,) multipliers that balance daylight (D65), green 1, from the matrix.
    camera_to_srgb
        float64 (3, 3) balanced camera RGB to linear sRGB; rows sum to 1.
    xyz_to_camera
        float64 (3, 3) XYZ under D65 to camera RGB, scaled so that D65's green is 1; None if unknown.
    orientation
        EXIF orientation, 1 to 8: how ``values`` must be turned to be upright.
    crop
        (top, left, height, width) of the picture proper within ``values``.
    noise_profile
        float64 (3, 2), scale and offset of the variance of each colour's noise, of values 0 black to 1 white,
        where a DNG file states it; else None.
    doubts
        What about these numbers is a guess, in words.
    """

    values: NDArray[np.uint16]
    pattern: NDArray[np.uint8] | None
    black: NDArray[np.float64]
    white: NDArray[np.float64]
    saturation: NDArray[np.float64]
    as_shot: NDArray[np.float64] | None
    as_shot_problem: str
    daylight: NDArray[np.float64]
    camera_to_srgb: Matrix
    xyz_to_camera: Matrix | None
    orientation: int
    crop: Crop
    noise_profile: NDArray[np.float64] | None = None
    doubts: tuple[str, ...] = ()


def make_sensor(
    path: Path, facts: dict[str, Any], values: NDArray[np.uint16], directories: Directories
) -> Sensor:
    """Give decoded values their meaning.

    Parameters
    ----------
    path
        For messages.
    facts, values
        As the decoder child answers ``sensor``.
    directories
        What the file itself states, if it is TIFF-like.

    Raises
    ------
    FrameError
        ``frame-four-colours``, ``frame-one-colour`` or ``frame-layout`` for sensors that are not taken;
        ``frame-damaged`` if the white level is not above black, or much of the picture is missing;
        ``frame-empty`` if there is nothing in it.
    """
    sizes = facts["sizes"]
    dng = directories.sensor_of_dng(sizes["raw_width"], sizes["raw_height"])
    margins = (sizes["top_margin"], sizes["left_margin"])
    pattern, indices = filter_pattern(path, facts, values.ndim, dng)
    black, black_doubt = black_levels(facts["black"], indices, dng, margins)
    white = white_levels(facts["white"], black, dng)
    if not (white > black.max()).all():
        raise FrameError(
            "frame-damaged",
            f"{path}: white level {white.min():g} is not above black level {black.max():g}",
            hint="copy the file again from the card or a backup",
        )
    largest = largest_in_rows(values)
    hole_doubt = refuse_nothing(path, values, float(black.min()), float(white.max()), largest=largest)
    colour = camera_colour(facts)
    means = mean_signal(values, pattern, black)
    white_stated = as_shot_white(facts["camera_whitebalance"], colour.daylight, means)
    if white_stated.balanced:
        colour = colour.of_balanced_values()
    crop, crop_doubt = picture_crop(sizes, (values.shape[0], values.shape[1]), dng)
    orientation, turn_doubt = stored_orientation(sizes["flip"], directories.orientation)
    return Sensor(
        values=values,
        pattern=pattern,
        black=black,
        white=white,
        saturation=saturation_levels(values, pattern, black, white, most=int(largest.max())),
        as_shot=white_stated.multipliers,
        as_shot_problem=white_stated.problem,
        daylight=colour.daylight,
        camera_to_srgb=colour.camera_to_srgb,
        xyz_to_camera=colour.xyz_to_camera,
        orientation=orientation,
        crop=crop,
        noise_profile=noise_profile(directories, dng),
        doubts=tuple(filter(None, (colour.doubt, black_doubt, crop_doubt, turn_doubt, hole_doubt))),
    )
