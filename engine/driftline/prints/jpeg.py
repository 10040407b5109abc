"""JPEG files as segments (ISO/IEC 10918-1, annex B): the picture apart from what is said about it.

The picture is everything but application segments and comments. Its digest therefore survives a rename and an
edit of the metadata, and nothing else: whoever decodes and saves again writes other segments.
"""

from __future__ import annotations

import hashlib
import re
import struct
from collections.abc import Iterator, Sequence
from typing import Any, Final

import imagecodecs
import numpy as np
from numpy.typing import NDArray

from driftline.errors import PrintError

APP1: Final = 0xE1
APP2: Final = 0xE2
_MARKER = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]", re.DOTALL)
_SOI, _EOI, _SOS, _COM = 0xD8, 0xD9, 0xDA, 0xFE
_FULL_CHROMA_FROM = 90
_LOWEST_QUALITY = 40
_XMP_START = b"http://ns.adobe.com/xap/1.0/\0"
_ICC_START = b"ICC_PROFILE\0"


def encoder_name() -> str:
    """Name and version of what turns pixels into JPEG, as it stands in a print."""
    library = imagecodecs.jpeg8_version().partition("/")[0].replace("libjpeg_turbo", "libjpeg-turbo")
    return f"imagecodecs {imagecodecs.__version__}, {library}"


def encode_jpeg(pixels: NDArray[Any], *, quality: int) -> bytes:
    """Baseline JPEG of (H, W, 3) or (H, W) uint8 pixels, without any metadata.

    Chroma keeps every pixel from quality 90 on, and is halved both ways below. Equal pixels and quality give
    equal bytes with the same encoder. Its Huffman tables are the standard's: tables of the picture's own save
    1.3 % of the bytes and cost nearly as much again (measured on 24 megapixels).
    """
    straight = np.ascontiguousarray(pixels)
    if straight.ndim == 2:
        return bytes(imagecodecs.jpeg8_encode(straight, level=quality))
    subsampling = "444" if quality >= _FULL_CHROMA_FROM else "420"
    return bytes(
        imagecodecs.jpeg8_encode(
            straight, level=quality, colorspace="RGB", outcolorspace="YCBCR", subsampling=subsampling
        )
    )


def encode_jpeg_within(pixels: NDArray[Any], *, quality: int, limit_bytes: int) -> bytes:
    """As :func:`encode_jpeg`, at the highest quality up to `quality` that keeps to a number of bytes.

    Raises
    ------
    PrintError
        ``ceiling-too-small`` if even the lowest quality that is fit to be seen does not.
    """
    found = encode_jpeg(pixels, quality=quality)
    if len(found) <= limit_bytes:
        return found
    low, high = min(_LOWEST_QUALITY, quality), quality
    found = encode_jpeg(pixels, quality=low)
    if len(found) > limit_bytes:
        raise PrintError(
            "ceiling-too-small",
            f"{len(found)} bytes at quality {low}; {limit_bytes} are allowed for the picture",
            hint="a smaller size, or a higher ceiling",
        )
    while high - low > 1:
        middle = (low + high) // 2
        tried = encode_jpeg(pixels, quality=middle)
        low, high, found = (middle, high, tried) if len(tried) <= limit_bytes else (low, middle, found)
    return found


def with_segments(jpeg: bytes, extra: Sequence[tuple[int, bytes]]) -> bytes:
    """The file with segments (marker, content) put in front, behind the JFIF header if there is one."""
    place = 2
    if jpeg[2:4] == b"\xff\xe0":
        place += 2 + int.from_bytes(jpeg[4:6], "big")
    for _, content in extra:
        if len(content) > 0xFFFD:
            raise PrintError(
                "metadata-too-long",
                f"{len(content)} bytes of metadata in one segment; a JPEG file holds at most {0xFFFD}",
                hint="leave the recipe's text out of the print",
            )
    written = b"".join(struct.pack(">BBH", 0xFF, m, len(content) + 2) + content for m, content in extra)
    return jpeg[:place] + written + jpeg[place:]


def xmp_segment(packet: bytes) -> tuple[int, bytes]:
    """An XMP packet as APP1 (ISO 16684-3, 1.1.3)."""
    return APP1, _XMP_START + packet


def icc_segment(profile: bytes) -> tuple[int, bytes]:
    """An ICC profile as APP2, in one piece (ICC.1, annex B.4)."""
    return APP2, _ICC_START + b"\x01\x01" + profile


def segments(jpeg: bytes) -> Iterator[tuple[int, bytes]]:
    """Marker and content of each segment; a scan's entropy-coded data belong to its SOS.

    Raises
    ------
    PrintError
        ``print-broken`` if the file ends or goes astray before its end-of-image marker.
    """
    if jpeg[:2] != b"\xff\xd8":
        raise _broken("does not begin as a JPEG file does")
    at = 2
    while True:
        while jpeg[at : at + 2] == b"\xff\xff":
            at += 1
        if at + 2 > len(jpeg) or jpeg[at] != 0xFF:
            raise _broken(f"no marker at byte {at} of {len(jpeg)}")
        marker = jpeg[at + 1]
        if marker == _EOI:
            return
        length = int.from_bytes(jpeg[at + 2 : at + 4], "big")
        end = at + 2 + length
        if length < 2 or end > len(jpeg):
            raise _broken(f"segment at byte {at} of {len(jpeg)} runs past the end")
        if marker == _SOS:
            end = _end_of_scan(jpeg, end)
        yield marker, jpeg[at + 4 : end]
        at = end


def picture_digest(jpeg: bytes) -> str:
    """SHA-256 of the picture in a JPEG file: tables, frame header and scans, without application segments."""
    digest = hashlib.sha256()
    for marker, content in segments(jpeg):
        if not (0xE0 <= marker <= 0xEF or marker == _COM):
            digest.update(struct.pack(">BI", marker, len(content)))
            digest.update(content)
    return digest.hexdigest()


def xmp_packets(jpeg: bytes) -> Iterator[bytes]:
    """The XMP packets of a file, each at most 64 KB long as its segment is."""
    for marker, content in segments(jpeg):
        if marker == APP1 and content.startswith(_XMP_START):
            yield content[len(_XMP_START) :]


def _end_of_scan(jpeg: bytes, at: int) -> int:
    """Where the next real marker stands: not a stuffed byte, not a restart."""
    found = _MARKER.search(jpeg, at)
    if found is None:
        raise _broken("ends inside the picture")
    return found.start()


def _broken(why: str) -> PrintError:
    return PrintError("print-broken", f"not a whole JPEG file: it {why}", hint="another copy of the print")
