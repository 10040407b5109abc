"""EXIF in raw files made of boxes."""

from __future__ import annotations

import io
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from driftline.frames import RawFrame
from driftline.frames.boxes import stated_end, tiff_blocks
from driftline.frames.tags import exif_of_file, number, text


def box(kind: bytes, content: bytes, *, long: bool = False) -> bytes:
    """One box (ISO/IEC 14496-12, 4.2): size, kind, content; ``long`` with a size of 64 bits."""
    if long:
        return (1).to_bytes(4, "big") + kind + (len(content) + 16).to_bytes(8, "big") + content
    return (len(content) + 8).to_bytes(4, "big") + kind + content


def tiff(tags: dict[int, object]) -> bytes:
    """A TIFF block with these tags, as Pillow writes EXIF."""
    exif = Image.Exif()
    for tag, value in tags.items():
        exif[tag] = value
    return exif.tobytes().removeprefix(b"Exif\0\0")


def file(*, long: bool = False) -> bytes:
    """A raw file of boxes with a camera's name and an ISO speed."""
    inner = box(b"CMT1", tiff({271: "Ostrel", 272: "Ostrel K9"})) + box(b"CMT2", tiff({34855: 800}))
    moov = box(b"moov", box(b"mvhd", bytes(100)) + box(b"uuid", bytes(16) + inner), long=long)
    return box(b"ftyp", b"crx 0001") + moov + box(b"mdat", bytes(500))


@pytest.mark.parametrize("long", [False, True])
def test_tags_are_found(tmp_path: Path, long: bool) -> None:
    """The camera's tags and EXIF lie in boxes of their own and come under the usual names."""
    path = tmp_path / "a.cr3"
    path.write_bytes(file(long=long))
    tags = exif_of_file(path)
    assert text(tags, "Image Model") == "Ostrel K9"
    assert number(tags, "EXIF ISOSpeedRatings") == 800


def test_the_end_is_stated() -> None:
    """The last box says where the file should end, also of a file that breaks off."""
    blob = file()
    assert stated_end(io.BytesIO(blob), len(blob)) == len(blob)
    assert stated_end(io.BytesIO(blob[:-100]), len(blob) - 100) == len(blob)


@pytest.mark.parametrize("blob", [b"", b"II*\0abcdefgh", bytes(64), b"\xff" * 64, box(b"moov", b"")])
def test_other_files_are_not_made_of_boxes(blob: bytes) -> None:
    """A file without a first box ``ftyp`` states no end, and has no blocks."""
    assert stated_end(io.BytesIO(blob), len(blob)) == 0
    assert tiff_blocks(io.BytesIO(blob), len(blob)) == {}


def test_damaged_boxes_never_raise() -> None:
    """Sizes that mean nothing end the search."""
    blob, rng = file(), np.random.default_rng(8)
    for _ in range(200):
        wrong = bytearray(blob)
        wrong[rng.integers(len(blob))] = rng.integers(256)
        tiff_blocks(io.BytesIO(bytes(wrong)), len(wrong))


def test_a_real_file(raws: Path) -> None:
    """head-only.cr3 is cut, but its exposure data lie in front (values looked at in its boxes by hand)."""
    found = RawFrame(raws / "bad" / "head-only.cr3").exposure()
    assert (found.iso, found.shutter_s, found.aperture, found.focal_mm) == (100, 1 / 125, 4, 105)
    assert found.taken == datetime(2019, 12, 5, 13, 32, 49, 540000)
    assert found.lens == "EF24-105mm f/4L IS USM"
