"""Read EXIF with exifread, and make plain values of what it gives."""

from __future__ import annotations

import io
import logging
import math
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, BinaryIO

from driftline.frames.boxes import tiff_blocks

Tags = Mapping[str, Any]
_NOTHING = {"unknown", "n/a", "none", "[]", "0"}


def exif_of_file(path: Path) -> Tags:
    """EXIF of a raw file or a JPEG; empty where there is none or it cannot be read.

    Names are exifread's: ``Image Model``, ``EXIF ExposureTime``, ``MakerNote LensType``.
    """
    try:
        with path.open("rb") as file:
            blocks = tiff_blocks(file, path.stat().st_size)
            file.seek(0)
            tags = {} if blocks else dict(_exif(file))
    except OSError:
        return {}
    for prefix, block in blocks.items():
        found = _exif(io.BytesIO(block))
        tags |= {name.replace("Image", prefix, 1): value for name, value in found.items()}
    return tags


def exif_of_bytes(blob: bytes) -> Tags:
    """EXIF of a JPEG in memory."""
    return _exif(io.BytesIO(blob))


def without_decoders_exif(blob: bytes) -> tuple[bytes, Tags]:
    """A preview as the camera stored it, and the EXIF that LibRaw put in front of it.

    LibRaw writes EXIF of its own reading, under a software name of its own, right behind the beginning of a
    JPEG that has none in that place; it is removed, and given apart (empty if there was none).
    """
    if blob[2:4] != b"\xff\xe1" or blob[6:10] != b"Exif":
        return blob, {}
    end = 4 + int.from_bytes(blob[4:6], "big")
    added = _exif(io.BytesIO(blob[:end] + b"\xff\xd9"))
    if not (text(added, "Image Software") or "").startswith("dcraw "):
        return blob, {}
    return blob[:2] + blob[end:], added


def text(tags: Tags, *names: str) -> str | None:
    """The first of these tags that holds words, stripped; None if none does."""
    for name in names:
        words = " ".join(str(tags.get(name, "")).replace("\x00", " ").split())
        if words.lower() not in _NOTHING and words.strip("-. "):
            return words
    return None


def number(tags: Tags, name: str) -> float | None:
    """A tag as one finite number; None if it is absent, empty, or has a zero denominator."""
    values = getattr(tags.get(name), "values", None)
    try:
        value = float(values[0] if isinstance(values, list | tuple) else values)  # type: ignore[arg-type]
    except (ValueError, TypeError, ZeroDivisionError, IndexError):
        return None
    return value if math.isfinite(value) else None


def positive(tags: Tags, name: str) -> float | None:
    """A tag as a number above zero: EXIF writes 0 for what it does not know."""
    value = number(tags, name)
    return value if value is not None and value > 0 else None


def moment(tags: Tags) -> datetime | None:
    """When the picture was taken, with fractions of a second where they are stated; None if unknown."""
    stamp = text(tags, "EXIF DateTimeOriginal", "EXIF DateTimeDigitized", "Image DateTimeOriginal")
    try:
        taken = datetime.strptime((stamp or "")[:19], "%Y:%m:%d %H:%M:%S")
    except ValueError:
        return None
    digits = text(tags, "EXIF SubSecTimeOriginal") or ""
    fraction = int(digits[:6].ljust(6, "0")) if digits.isdecimal() else 0
    return taken.replace(microsecond=fraction) if taken.year > 1970 else None


def _exif(file: BinaryIO) -> Tags:
    import exifread  # noqa: PLC0415 — only where a file is read

    logging.getLogger("exifread").setLevel(logging.CRITICAL)
    try:
        tags: Tags = exifread.process_file(file, details=True, extract_thumbnail=False)
    except Exception:  # a reader of broken files may fail in any way; what it cannot read is unknown
        return {}
    return tags
