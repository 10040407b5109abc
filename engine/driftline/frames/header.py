"""The beginning of a file: exposure data and the place of its JPEG, without a decoder and without pixels.

An index of ten years' frames can afford one short read of each. What is read here is read from the same tags
as in :mod:`driftline.frames.exposure`, which makes sense of them; containers that are not read here are left
to :class:`~driftline.frames.frame.RawFrame`.
"""

from __future__ import annotations

import os
import struct
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

from driftline.frames.jpeg import JpegSize
from driftline.frames.orientation import exif_orientation
from driftline.frames.parts import Parts

_MOST_DIRECTORIES: Final = 12
_MOST_ENTRIES: Final = 512
_MOST_BYTES: Final = 1024
_ORDERS: Final = {b"II": "<", b"MM": ">"}
_MAGIC: Final = {42, 85, 0x4F52, 0x5352}
"""TIFF 6.0, and what three makers write there instead."""

_WIDTH, _LENGTH, _COMPRESSION, _PHOTOMETRIC, _OFFSETS, _ORIENTATION = 256, 257, 259, 262, 273, 274
_COUNTS, _BELOW, _JPEG_AT, _JPEG_LONG, _EXIF, _DNG = 279, 330, 513, 514, 34665, 50706
_SENSOR: Final = {32803, 34892}
_JPEG_COMPRESSION: Final = {6, 7}
_FIRST: Final = {
    271: "Image Make",
    272: "Image Model",
    305: "Image Software",
    36867: "Image DateTimeOriginal",
    50934: "Image Tag 0xC6F6",
}
_SHOT: Final = {
    33434: "EXIF ExposureTime",
    33437: "EXIF FNumber",
    34855: "EXIF ISOSpeedRatings",
    34866: "EXIF RecommendedExposureIndex",
    34867: "EXIF ISOSpeed",
    36867: "EXIF DateTimeOriginal",
    36868: "EXIF DateTimeDigitized",
    37377: "EXIF ShutterSpeedValue",
    37378: "EXIF ApertureValue",
    37380: "EXIF ExposureBiasValue",
    37386: "EXIF FocalLength",
    37521: "EXIF SubSecTimeOriginal",
    41989: "EXIF FocalLengthIn35mmFilm",
    42036: "EXIF LensModel",
}
_LAYOUT: Final = frozenset(
    [
        *(_WIDTH, _LENGTH, _COMPRESSION, _PHOTOMETRIC, _OFFSETS, _ORIENTATION),
        *(_COUNTS, _BELOW, _JPEG_AT, _JPEG_LONG, _EXIF, _DNG),
    ]
)
_CODES: Final = {1: "B", 3: "H", 4: "I", 7: "B", 9: "i", 13: "I"}
_RATIONALS: Final = {5: "I", 10: "i"}
_SIZES: Final = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 7: 1, 9: 4, 10: 8, 13: 4}


@dataclass(frozen=True, slots=True)
class Entry:
    """One tag, in the shape in which exifread gives it: ``values``, and its words as text."""

    values: Any

    def __str__(self) -> str:
        return str(self.values)


@dataclass(frozen=True, slots=True)
class Header:
    """What the beginning of a file says.

    Attributes
    ----------
    tags
        EXIF by exifread's names, those that exposure data are made of.
    embedded
        Size of the largest JPEG in it as stored; None if it states none.
    certain
        Whether an absent JPEG is absent: DNG lists all of its previews, other containers hide some in
        maker notes.
    upright
        Size of the picture when upright, if it is stated.
    is_jpeg
        Whether the file itself is a JPEG, so no raw.
    """

    tags: Mapping[str, Any]
    embedded: JpegSize | None
    certain: bool
    upright: JpegSize | None
    is_jpeg: bool = False


def read_header(path: str | os.PathLike[str]) -> Header | None:
    """Read the beginning of a raw file or a JPEG.

    Returns
    -------
    Header or None
        None if it is neither TIFF-like, nor a JPEG, nor a raw that begins with its JPEG's place.

    Raises
    ------
    OSError
        The file cannot be opened or read.
    """
    descriptor = os.open(path, os.O_RDONLY | os.O_CLOEXEC | os.O_NONBLOCK)
    try:
        source = Parts(descriptor)
        try:
            return _read(source)
        except (struct.error, ValueError, IndexError):  # broken in a way that nobody foresaw: leave it
            return None
    finally:
        os.close(descriptor)


def _read(source: Parts) -> Header | None:
    head = source.take(0, min(92, source.size))
    if head[:2] == b"\xff\xd8":
        return _of_jpeg(source, 0)
    if head.startswith(b"FUJIFILM"):
        return _of_jpeg(source, int.from_bytes(head[84:88], "big"))
    order = _ORDERS.get(head[:2])
    if order is None or struct.unpack_from(f"{order}H", head, 2)[0] not in _MAGIC:
        return None
    return _of_tiff(source, order, struct.unpack_from(f"{order}I", head, 4)[0])


def _of_tiff(source: Parts, order: str, first: int) -> Header:
    tiff = _Tiff(source, order, 0)
    found = list(tiff.directories(first))
    jpegs = [size for each in found for size in _jpegs_in(source, each)]
    sensor = max((each for each in found if each.get(_PHOTOMETRIC) in _SENSOR), key=_area, default={})
    upright = _turned(JpegSize(sensor[_WIDTH], sensor[_LENGTH]), found) if _area(sensor) else None
    return Header(
        tags=tiff.tags,
        embedded=max(jpegs, key=lambda jpeg: jpeg.width * jpeg.height, default=None),
        certain=bool(found) and _DNG in found[0],
        upright=upright,
    )


def _of_jpeg(source: Parts, start: int) -> Header | None:
    size, exif = _walk_jpeg(source, start)
    if size is None:
        return None
    tags, found = _exif_of_jpeg(source, exif)
    return Header(tags, embedded=size, certain=True, upright=_turned(size, found), is_jpeg=start == 0)


def _exif_of_jpeg(source: Parts, place: int | None) -> tuple[Mapping[str, Any], list[dict[int, Any]]]:
    order = None if place is None else _ORDERS.get(source.take(place, 2))
    if place is None or order is None:
        return {}, []
    tiff = _Tiff(source, order, place)
    found = list(tiff.directories(struct.unpack(f"{order}I", source.take(place + 4, 4))[0]))
    return tiff.tags, found


def _turned(size: JpegSize, found: Sequence[Mapping[int, Any]]) -> JpegSize:
    """A size when upright, by the first directory's orientation."""
    turned = bool(found) and (exif_orientation(found[0].get(_ORIENTATION)) or 1) > 4
    return JpegSize(size.height, size.width) if turned else size


def _area(directory: Mapping[int, Any]) -> int:
    return int(directory.get(_WIDTH) or 0) * int(directory.get(_LENGTH) or 0)


def _jpegs_in(source: Parts, directory: Mapping[int, Any]) -> Iterator[JpegSize]:
    """The JPEG that a directory holds or points to, if it begins as one does and ends within the file."""
    places = [(directory.get(_JPEG_AT), directory.get(_JPEG_LONG))]
    if directory.get(_COMPRESSION) in _JPEG_COMPRESSION and directory.get(_PHOTOMETRIC) not in _SENSOR:
        places.append((directory.get(_OFFSETS), directory.get(_COUNTS)))
    for offset, length in places:
        if not offset or not length or offset + length > source.size:
            continue
        size, _ = _walk_jpeg(source, offset)
        if size is not None:
            yield size


def _walk_jpeg(source: Parts, start: int) -> tuple[JpegSize | None, int | None]:
    """Size and the place of the EXIF block of a JPEG (ISO/IEC 10918-1, annex B); lossless ones are none."""
    at, exif = start + 2, None
    if source.take(start, 2) != b"\xff\xd8":
        return None, None
    while True:
        head = source.take(at, 10)
        if head[0] != 0xFF:
            return None, exif
        marker, length = head[1], int.from_bytes(head[2:4], "big")
        if marker in {0xC0, 0xC1, 0xC2}:
            height, width = struct.unpack(">HH", source.take(at + 5, 4))
            return JpegSize(width, height), exif
        if length < 2 or marker in {0xC3, 0xDA, 0xD9}:
            return None, exif
        if marker == 0xE1 and exif is None and head[4:10] == b"Exif\0\0":
            exif = at + 10
        at += 2 + length


@dataclass
class _Tiff:
    """Directories of a TIFF block: what they say of their pixels, and the tags that were met on the way."""

    source: Parts
    order: str
    base: int
    tags: dict[str, Entry] = field(default_factory=dict)
    _seen: set[int] = field(default_factory=set)

    def directories(self, first: int) -> Iterator[dict[int, Any]]:
        """Each directory of the chain with those below it; broken ones end their branch."""
        waiting, names = [first], _FIRST
        while waiting and len(self._seen) < _MOST_DIRECTORIES:
            place = waiting.pop(0)
            if not place or place in self._seen:
                continue
            self._seen.add(place)
            try:
                found, following = self._directory(place, names)
            except (ValueError, struct.error):
                continue
            if _EXIF in found and names:
                self._exif(found[_EXIF])
            names = {}
            below = found.get(_BELOW, ())
            waiting += [*(below if isinstance(below, tuple) else (below,)), following]
            yield found

    def _exif(self, place: int) -> None:
        try:
            self._directory(place, _SHOT)
        except (ValueError, struct.error):
            return

    def _directory(self, place: int, names: Mapping[int, str]) -> tuple[dict[int, Any], int]:
        order, take, base = self.order, self.source.take, self.base
        (count,) = struct.unpack(f"{order}H", take(base + place, 2))
        if count > _MOST_ENTRIES:
            raise ValueError("no directory has so many entries")
        block = take(base + place + 2, 12 * count)
        found: dict[int, Any] = {}
        for tag, kind, number, inline in struct.iter_unpack(f"{order}HHI4s", block):
            if tag in names:
                value = self._value(kind, number, inline)
                if value is not None:
                    self.tags[names[tag]] = Entry(value)
            elif tag in _LAYOUT and kind in _CODES:
                value = self._value(kind, number, inline)
                if value:
                    found[tag] = value[0] if len(value) == 1 else value
        try:
            (following,) = struct.unpack(f"{order}I", take(base + place + 2 + 12 * count, 4))
        except ValueError:
            following = 0
        return found, following

    def _value(self, kind: int, number: int, inline: bytes) -> Any:
        """Values of a tag as exifread has them: text, or a list of numbers; None for kinds not used here."""
        size = _SIZES.get(kind, 0) * number
        if not 0 < size <= _MOST_BYTES:
            return None
        content = inline[:size]
        if size > 4:
            content = self.source.take(self.base + struct.unpack(f"{self.order}I", inline)[0], size)
        if kind == 2:
            return content.partition(b"\0")[0].decode("utf-8", "replace")
        if kind in _RATIONALS:
            flat = struct.unpack(f"{self.order}{2 * number}{_RATIONALS[kind]}", content)
            return [_ratio(*pair) for pair in zip(flat[::2], flat[1::2], strict=True)]
        return struct.unpack(f"{self.order}{number}{_CODES[kind]}", content)


def _ratio(numerator: int, denominator: int) -> float:
    """A rational; one that is none is no number, as EXIF writes what it does not know."""
    return numerator / denominator if denominator else float("nan")
