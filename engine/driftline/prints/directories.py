"""TIFF 6.0 directories, in which EXIF is written."""

from __future__ import annotations

import struct
from collections.abc import Mapping
from typing import Final, TypeAlias

Value: TypeAlias = tuple[int, bytes]
"""Type number of TIFF 6.0, and the bytes, big-endian."""

Tags: TypeAlias = Mapping[int, Value | None]
"""Values by tag number; None is left out."""

BYTE, ASCII, SHORT, LONG, RATIONAL, UNDEFINED, SRATIONAL = 1, 2, 3, 4, 5, 7, 10
LONG_ZERO: Final = (LONG, bytes(4))
_WIDTHS = {BYTE: 1, ASCII: 1, SHORT: 2, LONG: 4, RATIONAL: 8, UNDEFINED: 1, SRATIONAL: 8}


def directory(tags: Tags, start: int) -> bytes:
    """One directory at a place of the file, with the values that do not fit into four bytes behind it."""
    known = sorted((tag, *value) for tag, value in tags.items() if value is not None)
    place = start + 2 + 12 * len(known) + 4
    entries, behind = struct.pack(">H", len(known)), b""
    for tag, kind, content in known:
        entries += struct.pack(">HHI", tag, kind, len(content) // _WIDTHS[kind])
        if len(content) <= 4:
            entries += content.ljust(4, b"\0")
        else:
            entries += struct.pack(">I", place + len(behind))
            behind += content + bytes(len(content) % 2)
    return entries + bytes(4) + behind
