"""JPEGs with EXIF, written by Pillow for the tests of frames."""

from __future__ import annotations

import io
from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, TiffImagePlugin

from driftline.frames.tags import Tags, exif_of_bytes

EXIF_IFD, INTEROP_IFD = 0x8769, 0xA005
MODEL, SOFTWARE, ORIENTATION = 272, 305, 274
TIME, FNUMBER, ISO, TAKEN, SUBSECOND, TV, AV = 33434, 33437, 34855, 36867, 37521, 37377, 37378
BIAS, FOCAL, COLOR_SPACE, FOCAL_35, LENS = 37380, 37386, 40961, 41989, 42036


def exif_block(
    first: Mapping[int, Any] | None = None,
    exif: Mapping[int, Any] | None = None,
    interop: Mapping[int, Any] | None = None,
) -> Image.Exif:
    """EXIF with entries in its first, its EXIF and its interoperability directory."""
    block = Image.Exif()
    for tag, value in (first or {}).items():
        block[tag] = value
    if exif or interop:
        block.get_ifd(EXIF_IFD).update(exif or {})
    if interop:
        block.get_ifd(EXIF_IFD)[INTEROP_IFD] = dict(interop)
    return block


def picture(
    pixels: NDArray[np.uint8] | None = None, *, size: tuple[int, int] = (480, 320), **settings: Any
) -> bytes:
    """A JPEG of a given or an invented picture; ``settings`` go to Pillow."""
    out = io.BytesIO()
    shown = gradient(*size) if pixels is None else pixels
    Image.fromarray(shown).save(out, "JPEG", **{"quality": 95, "subsampling": 0} | settings)
    return out.getvalue()


def tags(first: Mapping[int, Any] | None = None, exif: Mapping[int, Any] | None = None) -> Tags:
    """What exifread finds in a small JPEG with these entries."""
    return exif_of_bytes(picture(size=(16, 16), exif=exif_block(first, exif)))


def ratio(numerator: int, denominator: int = 1) -> Any:
    """An EXIF rational, whatever it comes to."""
    return TiffImagePlugin.IFDRational(numerator, denominator)


def gradient(width: int, height: int) -> NDArray[np.uint8]:
    """A picture that looks different from every side: red to the right, green downwards, a blue corner."""
    down, right = np.mgrid[0:height, 0:width]
    blue = 255 * ((down < height // 4) & (right < width // 4))
    return np.stack([right * 255 // width, down * 255 // height, blue], axis=-1).astype(np.uint8)
