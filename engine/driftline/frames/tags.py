"""Read EXIF with exifread, and make plain values of what it gives."""

from __future__ import annotations

import io
import logging
import math
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

Tags = Mapping[str, Any]


def exif_of_file(path: Path) -> Tags:
    """EXIF of a TIFF-like raw file or a JPEG; empty where there is none or it cannot be read."""
    try:
        with path.open("rb") as file:
            return _exif(file)
    except OSError:
        return {}


def exif_of_bytes(blob: bytes) -> Tags:
    """EXIF of a JPEG in memory."""
    return _exif(io.BytesIO(blob))


def text(tags: Tags, *names: str) -> str | None:
    """The first of these tags that holds words, stripped; None if none does."""
    for name in names:
        if name in tags:
            words = str(tags[name]).replace("\x00", " ").strip()
            if words and words.lower() not in {"unknown", "n/a", "none", "[]"} and words.strip("-. "):
                return words
    return None


def number(tags: Tags, name: str) -> float | None:
    """A tag as one finite number; None if it is absent, empty, or has a zero denominator."""
    if name not in tags:
        return None
    values = tags[name].values
    try:
        value = float(values[0]) if isinstance(values, list | tuple) else float(values)
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
    if stamp is None:
        return None
    try:
        taken = datetime.strptime(stamp[:19], "%Y:%m:%d %H:%M:%S")
    except ValueError:
        return None
    digits = text(tags, "EXIF SubSecTimeOriginal") or ""
    fraction = int(digits[:6].ljust(6, "0")) if digits.isdigit() else 0
    return taken.replace(microsecond=fraction) if taken.year > 1970 else None


def _exif(file: Any) -> Tags:
    import exifread  # noqa: PLC0415 — only where a file is read

    logging.getLogger("exifread").setLevel(logging.CRITICAL)
    try:
        tags: Tags = exifread.process_file(file, details=True, extract_thumbnail=False)
    except Exception:  # a reader of broken files may fail in any way; what it cannot read is unknown
        return {}
    return tags
