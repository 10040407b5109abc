"""Raw and JPEG of one exposure: same folder, same stem, and nothing in the JPEG that speaks against it.

An edited JPEG often keeps the name of its raw. It is not what the camera made, and must not be measured
against as if it were.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from driftline.frames import tags as exif
from driftline.frames.jpeg import JpegSize
from driftline.frames.tags import Tags

MIN_EDGE: Final = 320
JPEG_SUFFIXES: Final = frozenset([".jpg", ".jpeg"])

_FIRMWARE = re.compile(r"(ver(sion)?|firmware|v)?[\s.]*\d[\d.\s]*\w?", re.IGNORECASE)
_IN_CAMERA: Final = (1.0, 7 / 6, 5 / 4, 4 / 3, 3 / 2, 16 / 9, 2.0, 65 / 24)
"""Proportions that cameras offer, long side to short: common practice."""
_CLOSE: Final = 0.03  # a raw's stated size may have a border more than the JPEG


def companions(path: Path) -> list[Path]:
    """The JPEGs in a raw's own folder that have its stem, upper and lower case alike, in order of name."""
    stem = path.stem.lower()
    try:
        names = sorted(path.absolute().parent.iterdir())
    except OSError:
        return []
    return [
        each
        for each in names
        if each.suffix.lower() in JPEG_SUFFIXES and each.stem.lower() == stem and each.is_file()
    ]


def against(own: Tags, raw: Tags, size: JpegSize, raw_size: JpegSize | None) -> str:
    """What speaks against a JPEG being the camera's rendering of an exposure; '' if nothing does.

    Parameters
    ----------
    own, raw
        EXIF of the JPEG and of the raw.
    size, raw_size
        Their sizes when upright; the raw's None if unknown.
    """
    if max(size.width, size.height) < MIN_EDGE:
        return f"it is tiny ({size.width} × {size.height})"
    model, raw_model = exif.text(own, "Image Model"), exif.text(raw, "Image Model")
    if raw_model and not model:
        return "it names no camera, as one that was saved again"
    if model and raw_model and model.lower() != raw_model.lower():
        return f"it was taken with another camera ({model})"
    software = exif.text(own, "Image Software")
    if software and not _is_firmware(software, model, exif.text(raw, "Image Software")):
        return f"it was written by {software}, not by the camera"
    taken, raw_taken = exif.moment(own), exif.moment(raw)
    if taken and raw_taken and abs((taken - raw_taken).total_seconds()) >= 2:
        return f"it was taken at {taken:%Y-%m-%d %H:%M:%S}, the raw at {raw_taken:%Y-%m-%d %H:%M:%S}"
    return _against_size(size, raw_size) if raw_size else ""


def _against_size(size: JpegSize, raw: JpegSize) -> str:
    """Cameras make JPEGs in the raw's own proportions or in others that they offer, never across it.

    The number of pixels tells nothing: cameras offer smaller ones, and some make larger ones.
    """
    shape, raw_shape = size.width / size.height, raw.width / raw.height
    long_to_short = max(shape, 1 / shape)
    offered = any(abs(long_to_short / each - 1) < _CLOSE / 2 for each in _IN_CAMERA)
    turned = (shape - 1) * (raw_shape - 1) < 0
    if abs(shape / raw_shape - 1) < _CLOSE or (offered and not turned):
        return ""
    return (
        f"its proportions ({size.width} × {size.height}) are not those of the raw, nor ones a camera offers"
    )


def _is_firmware(software: str, model: str | None, raw_software: str | None) -> bool:
    """Whether an EXIF Software text names a camera's firmware: the raw's, the model's, or a bare version."""
    if raw_software and software.lower() == raw_software.lower():
        return True
    if model and model.lower() in software.lower():
        return True
    return bool(_FIRMWARE.fullmatch(software))
