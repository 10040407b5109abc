"""16-bit TIFF files (TIFF 6.0) for what must lose nothing, written and read by tifffile."""

from __future__ import annotations

import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

import numpy as np
import tifffile
from numpy.typing import NDArray

from driftline.errors import PrintError
from driftline.prints.directories import ASCII, BYTE, LONG, SHORT, Tags, directory
from driftline.prints.exif import Exif
from driftline.prints.xmp import PACKET_LIMIT

PIXEL_LIMIT: Final = 400_000_000
_XMP = 700
_UNITS = {ASCII: 1, SHORT: 2}


def encoder_name() -> str:
    """Name and version of what writes TIFF files, as it stands in a print."""
    return f"tifffile {tifffile.__version__}"


def encode_tiff(pixels: NDArray[np.uint16], *, exif: Exif, xmp: bytes, icc: bytes) -> bytes:
    """A TIFF file of (H, W, 3) uint16 pixels, deflated with horizontal prediction.

    The EXIF directories go behind the pixels. tifffile writes no pointers to them, but tags one number lower,
    in the same places of the order; these are then made the pointers.
    """
    known = {tag: value for tag, value in exif.camera.items() if value is not None}
    extra = [
        (tag, kind, len(content) // _UNITS[kind], content, True) for tag, (kind, content) in known.items()
    ]
    pointers = [(tag - 1, LONG, 1, 0, True) for tag in exif.inner]
    out = io.BytesIO()
    with tifffile.TiffWriter(out, byteorder=">") as writer:
        writer.write(
            pixels,
            photometric="rgb",
            compression="zlib",
            predictor=True,
            rowsperstrip=64,
            metadata=None,
            software=False,
            iccprofile=icc,
            extratags=[(_XMP, BYTE, len(xmp), xmp, True), *extra, *pointers],
        )
    return _with_directories(out.getvalue(), exif.inner)


def xmp_of(path: Path) -> bytes | None:
    """The XMP packet of a TIFF file, None if it has none or is no sound TIFF."""
    try:
        with tifffile.TiffFile(path) as file:
            tag = file.pages.first.tags.get(_XMP)
            value = tag.value if tag is not None and tag.count <= PACKET_LIMIT else None
    except Exception:  # a reader of broken files may fail in any way
        return None
    return bytes(value) if isinstance(value, bytes | tuple) else None


def pixels_of(path: Path) -> NDArray[Any]:
    """The pixels of a TIFF print.

    Raises
    ------
    PrintError
        ``print-broken`` if they cannot be read, or are more than 400 million.
    """
    try:
        with tifffile.TiffFile(path) as file:
            page = file.pages.first
            if page.imagelength * page.imagewidth > PIXEL_LIMIT:
                raise PrintError("print-broken", f"{path}: more than {PIXEL_LIMIT} pixels")
            return np.asarray(page.asarray())
    except PrintError:
        raise
    except Exception as error:  # a reader of broken files may fail in any way
        raise PrintError("print-broken", f"{path}: not a whole TIFF file ({error})") from error


def _with_directories(content: bytes, inner: Mapping[int, Tags]) -> bytes:
    """Append each inner directory, and make the tag below its number the pointer to it."""
    with tifffile.TiffFile(io.BytesIO(content)) as file:
        entries = {tag: file.pages.first.tags[tag - 1].offset for tag in inner}
    whole = bytearray(content)
    for tag, tags in inner.items():
        whole += bytes(len(whole) % 2)
        place, entry = len(whole), entries[tag]
        whole[entry : entry + 2] = tag.to_bytes(2, "big")
        whole[entry + 8 : entry + 12] = place.to_bytes(4, "big")
        whole += directory(tags, place)
    return bytes(whole)
