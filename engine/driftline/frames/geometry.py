"""Where the picture lies within the decoded values, and which way up it is stored."""

from __future__ import annotations

from typing import Any

from driftline.frames.directories import ACTIVE_AREA, CROP_ORIGIN, CROP_SIZE, Directory
from driftline.frames.orientation import exif_orientation, flip_to_orientation

Crop = tuple[int, int, int, int]


def picture_crop(sizes: dict[str, Any], shape: tuple[int, int], dng: Directory | None) -> tuple[Crop, str]:
    """The inset crop as (top, left, height, width) within the values, and a doubt or ''.

    Parameters
    ----------
    sizes
        LibRaw's, counted from the corner of the full raw; a crop of 0 is unknown.
    shape
        (height, width) of the values.
    dng
        The directory of the sensor values of a DNG file, or None: its DefaultCrop is read directly, since
        LibRaw moves odd origins to even ones and shortens the crop by as much.
    """
    whole = (0, 0, *shape)
    stated = (None if dng is None else _default_crop(dng)) or _inset(sizes)
    if stated is None:
        return whole, ""
    top, left = stated[0] - sizes["top_margin"], stated[1] - sizes["left_margin"]
    height, width = stated[2:]
    # LibRaw moves odd margins by one, so that a crop at the very corner may begin one outside.
    inner = (max(top, 0), max(left, 0), min(top + height, shape[0]), min(left + width, shape[1]))
    crop = (inner[0], inner[1], inner[2] - inner[0], inner[3] - inner[1])
    if min(height - crop[2], width - crop[3]) < 0 or max(height - crop[2], width - crop[3]) > 1:
        return whole, f"the stated crop of {width} × {height} at {left}, {top} lies outside the picture"
    return crop, ""


def stored_orientation(flip: int, stated: int | None) -> tuple[int, str]:
    """EXIF orientation of the values by LibRaw's flip, and a doubt or '' if the file's tag says otherwise."""
    orientation = flip_to_orientation(flip)
    tag = exif_orientation(stated)
    if tag is not None and tag != orientation:
        return orientation, f"orientation is {tag} in the file's tag but {orientation} to the decoder"
    return orientation, ""


def _default_crop(dng: Directory) -> Crop | None:
    """DNG DefaultCropOrigin and DefaultCropSize (both horizontal first) from the corner of the full raw."""
    origin, size = dng.numbers(CROP_ORIGIN), dng.numbers(CROP_SIZE)
    if len(origin) != 2 or len(size) != 2 or min(size) < 1:
        return None
    area = dng.numbers(ACTIVE_AREA)[:2] or [0.0, 0.0]
    return (int(area[0] + origin[1]), int(area[1] + origin[0]), int(size[1]), int(size[0]))


def _inset(sizes: dict[str, Any]) -> Crop | None:
    height, width = sizes["crop_height"], sizes["crop_width"]
    if not (0 < height < 65535 and 0 < width < 65535):
        return None
    return (sizes["crop_top_margin"], sizes["crop_left_margin"], height, width)
