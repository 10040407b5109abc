"""EXIF out of raw files made of boxes (ISO/IEC 14496-12): whole TIFF blocks in boxes of their own."""

from __future__ import annotations

from collections.abc import Iterator
from typing import BinaryIO

_FILE_TAGS, _EXIF_TAGS = b"CMT1", b"CMT2"
_MOST_BYTES = 1 << 20
_MOST_BOXES = 256


def tiff_blocks(file: BinaryIO, size: int) -> dict[str, bytes]:
    """The TIFF blocks of a raw file of boxes, by the prefix their tags go under: ``Image`` and ``EXIF``.

    Parameters
    ----------
    file
        Open for reading, seekable.
    size
        Its size in bytes.

    Returns
    -------
    dict
        Empty if the file is not made of boxes or holds no such block.
    """
    prefixes = {_FILE_TAGS: "Image", _EXIF_TAGS: "EXIF"}
    blocks = {}
    for kind, start, end in _descend(file, 0, size, (b"moov", b"uuid")):
        if kind in prefixes and end - start <= _MOST_BYTES:
            file.seek(start)
            blocks[prefixes[kind]] = file.read(end - start)
    return blocks


def stated_end(file: BinaryIO, size: int) -> int:
    """Where the last box at the top should end, as the boxes state it; 0 if the file is not made of boxes."""
    boxes = list(_boxes(file, 0, size))
    return boxes[-1][2] if boxes and boxes[0][0] == b"ftyp" else 0


def _descend(
    file: BinaryIO, start: int, end: int, into: tuple[bytes, ...]
) -> Iterator[tuple[bytes, int, int]]:
    """The boxes below a chain of kinds, as (kind, start, end) of their content."""
    for kind, inner, stop in _boxes(file, start, end):
        if not into:
            yield kind, inner, stop
        elif kind == into[0]:
            skip = 16 if kind == b"uuid" else 0
            yield from _descend(file, inner + skip, min(stop, end), into[1:])


def _boxes(file: BinaryIO, start: int, end: int) -> Iterator[tuple[bytes, int, int]]:
    for _ in range(_MOST_BOXES):
        if start + 8 > end:
            return
        file.seek(start)
        head = file.read(16)
        length, kind, inner = int.from_bytes(head[:4], "big"), head[4:8], start + 8
        if length == 1:
            length, inner = int.from_bytes(head[8:16], "big"), start + 16
        stop = end if length == 0 else start + length
        if stop < inner or not kind.isalnum():
            return
        yield kind, inner, stop
        start = stop
