"""The directories of a TIFF-like raw file, read with tifffile: what DNG states about its sensor values.

LibRaw hands out most of it, but not all: black levels that repeat in blocks larger than 2 × 2, white levels
of single planes, crops that begin on an odd row or column, and patterns that are neither 2 × 2 nor 6 × 6
come out changed or shortened (measured, LibRaw 0.22). Numbers are those of the DNG specification 1.4.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

SUBFILE, WIDTH, LENGTH, COMPRESSION, PHOTOMETRIC, ORIENTATION = 254, 256, 257, 259, 262, 274
PLACES = ((273, 279), (324, 325))  # offsets and byte counts, of strips and of tiles
CFA_DIM, CFA_PATTERN, DNG_VERSION = 33421, 33422, 50706
BLACK_DIM, BLACK, WHITE, CROP_ORIGIN, CROP_SIZE, ACTIVE_AREA = 50713, 50714, 50717, 50719, 50720, 50829
PREVIEW_SPACE = 50970
_SENSOR = {32803, 34892}
_RATIONAL = {5, 10}
_STANDARD_COMPRESSION = {1, 7, 8, 34892}
_MOST_PAGES = 16


@dataclass(frozen=True)
class Directory:
    """One directory: tag number to values (rationals as floats)."""

    tags: Mapping[int, Any]

    def numbers(self, code: int) -> list[float]:
        """A tag's values as numbers; empty if it is absent or holds no numbers."""
        values = self.tags.get(code, ())
        values = values if isinstance(values, tuple | list | bytes) else (values,)
        return [float(value) for value in values if isinstance(value, int | float)]

    def first(self, code: int) -> int | None:
        """A tag's first value as an integer, or None."""
        values = self.numbers(code)
        return int(values[0]) if values else None

    @property
    def area(self) -> int:
        """Width times height."""
        return (self.first(WIDTH) or 0) * (self.first(LENGTH) or 0)

    @property
    def data_end(self) -> int:
        """The byte behind the last strip or tile; 0 if none is stated."""
        ends = [0.0]
        for offsets, counts in PLACES:
            pairs = zip(self.numbers(offsets), self.numbers(counts), strict=False)
            ends.extend(offset + count for offset, count in pairs)
        return int(max(ends))


@dataclass(frozen=True)
class Directories:
    """All directories of a file, in order; empty if it is not TIFF-like or cannot be read."""

    all: tuple[Directory, ...] = ()

    @property
    def is_dng(self) -> bool:
        """Whether the first directory states a DNG version."""
        return bool(self.all) and DNG_VERSION in self.all[0].tags

    @property
    def orientation(self) -> int | None:
        """Orientation of the first directory, as it stands there."""
        return self.all[0].first(ORIENTATION) if self.all else None

    @property
    def sensor(self) -> Directory | None:
        """The directory of the sensor values, or None if none says that it is that."""
        found = [each for each in self.all if each.first(PHOTOMETRIC) in _SENSOR]
        found = [each for each in found if not each.first(SUBFILE)] or found
        return max(found, key=lambda each: each.area, default=None)

    def sensor_of_dng(self, width: int, height: int) -> Directory | None:
        """The directory of a DNG file's sensor values, if it is of the size that the decoder read."""
        sensor = self.sensor if self.is_dng else None
        same = sensor is not None and (sensor.first(WIDTH), sensor.first(LENGTH)) == (width, height)
        return sensor if same else None

    def preview_space(self, width: int, height: int) -> int | None:
        """PreviewColorSpace of the preview of this size, or None."""
        sizes = [(each.first(WIDTH), each.first(LENGTH), each) for each in self.all]
        spaces = [each.first(PREVIEW_SPACE) for w, h, each in sizes if (w, h) == (width, height)]
        return next((space for space in spaces if space is not None), None)

    def missing_bytes(self, size: int, *, binding: bool = False) -> int:
        """How many bytes of the stated sensor data a file of this size lacks.

        With ``binding`` only encodings of the open standards count: in makers' own ones, old cameras write
        byte counts that mean nothing, and only a decoder can tell.
        """
        sensor = self.sensor
        if sensor is None or (binding and sensor.first(COMPRESSION) not in _STANDARD_COMPRESSION):
            return 0
        return max(sensor.data_end - size, 0)


def read_directories(path: Path) -> Directories:
    """Read every directory of a TIFF-like file; none if tifffile cannot read it."""
    import tifffile  # noqa: PLC0415 — only where a raw file is read

    logging.getLogger("tifffile").setLevel(logging.CRITICAL)
    try:
        with tifffile.TiffFile(path) as file:
            return Directories(tuple(_walk(file)))
    except Exception:  # a reader of broken files may fail in any way; then nothing is known
        return Directories()


def directory_beyond_end(path: Path) -> int | None:
    """Where a TIFF-like file's first directory should be, if that is behind the file's end; else None."""
    with path.open("rb") as file:
        head = file.read(8)
    order = {b"II": "little", b"MM": "big"}.get(head[:2])
    if order is None or len(head) < 8 or int.from_bytes(head[2:4], order) not in {42, 85, 0x4F52, 0x5352}:  # type: ignore[arg-type]
        return None
    offset = int.from_bytes(head[4:8], order)  # type: ignore[arg-type]
    return offset if offset >= path.stat().st_size else None


def _walk(file: Any) -> Iterator[Directory]:
    for number, page in enumerate(file.pages):
        if number == _MOST_PAGES:
            return
        yield _directory(page)
        for below in page.pages or ():
            yield _directory(below)


def _directory(page: Any) -> Directory:
    return Directory({tag.code: _value(tag) for tag in page.tags.values()})


def _value(tag: Any) -> Any:
    if int(tag.dtype) not in _RATIONAL:
        return tag.value
    flat = tag.value
    return tuple(
        numerator / denominator if denominator else 0.0
        for numerator, denominator in zip(flat[::2], flat[1::2], strict=True)
    )
