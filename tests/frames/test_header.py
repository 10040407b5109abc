"""The beginning of a file, against exifread, Pillow and the decoder, which read the same by other ways."""

from __future__ import annotations

import dataclasses
import random
import struct
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import exifread
import pytest
from PIL import Image

import demo_frames
from driftline.frames import RawFrame
from driftline.frames.exposure import read_exposure
from driftline.frames.header import Header, read_header
from driftline.frames.jpeg import JpegSize
from frames.written import MODEL, ORIENTATION, SOFTWARE, TAKEN, exif_block, picture

EXIF = {
    "make": "Ostrel",
    "model": "Ostrel K2",
    "lens": "Ostrel 35 mm f/2",
    "iso": 1600,
    "exposure_time": 1 / 250,
    "f_number": 5.6,
    "focal_length": 23.0,
    "focal_35mm": 35,
    "bias_ev": -1 / 3,
    "taken": datetime(2025, 11, 3, 7, 41, 5),
}


def header_of(path: Path) -> Header:
    """A header that must be there."""
    header = read_header(path)
    assert header is not None
    return header


@pytest.mark.parametrize("path", demo_frames.paths(), ids=lambda path: path.stem)
def test_the_same_exposure_as_from_the_whole_file(path: Path) -> None:
    """Every field equals what exifread and the decoder make of the file, and the JPEG has the same size."""
    header, frame = header_of(path), RawFrame(path)
    assert read_exposure(header.tags, {}, {}) == frame.exposure()
    with path.open("rb") as file:
        tags = exifread.process_file(file, details=False)
    assert {
        name: str(header.tags[name]) for name in ("Image Make", "Image Model", "EXIF DateTimeOriginal")
    } == {name: str(tags[name]) for name in ("Image Make", "Image Model", "EXIF DateTimeOriginal")}
    rendering = frame.camera_rendering()
    assert rendering is not None
    assert header.embedded is not None
    assert {header.embedded.width, header.embedded.height} == set(rendering.shape[:2])
    assert header.certain


def test_every_field_of_a_written_frame(dng: Callable[..., Path]) -> None:
    """Whatever was written comes back."""
    found = read_exposure(header_of(dng(exif=EXIF)).tags, {}, {})
    told = dataclasses.asdict(found)
    assert (told["make"], told["model"], told["lens"]) == ("Ostrel", "Ostrel K2", "Ostrel 35 mm f/2")
    assert (told["iso"], told["aperture"], told["focal_mm"], told["focal_35mm"]) == (1600, 5.6, 23, 35)
    assert told["shutter_s"] == pytest.approx(1 / 250)
    assert told["bias_ev"] == pytest.approx(-1 / 3, abs=1e-3)
    assert told["taken"] == datetime(2025, 11, 3, 7, 41, 5)


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_size_when_upright(dng: Callable[..., Path], orientation: int) -> None:
    """The fixture's sensor has 160 × 120 photosites; a quarter turn exchanges the two."""
    upright = header_of(dng(orientation=orientation)).upright
    assert upright == (JpegSize(120, 160) if orientation > 4 else JpegSize(160, 120))


def test_no_jpeg_in_a_dng_is_certain(dng: Callable[..., Path]) -> None:
    """DNG lists its previews (DNG 1.4, chapter 2); so one that lists none has none."""
    header = header_of(dng())
    assert (header.embedded, header.certain, header.is_jpeg) == (None, True, False)


def test_a_jpeg_is_read_like_pillow_reads_it(tmp_path: Path) -> None:
    """Size, orientation, model, software and time of a JPEG."""
    path = tmp_path / "a.jpg"
    first = {MODEL: "Ostrel K2", SOFTWARE: "Ver.1.05", ORIENTATION: 6}
    path.write_bytes(picture(exif=exif_block(first, {TAKEN: "2025:11:03 07:41:05"})))
    header = header_of(path)
    with Image.open(path) as image:
        assert header.embedded == JpegSize(*image.size)
    assert header.is_jpeg
    assert header.upright == JpegSize(320, 480)
    words = {name: str(tag) for name, tag in header.tags.items()}
    assert words == {
        "Image Model": "Ostrel K2",
        "Image Software": "Ver.1.05",
        "EXIF DateTimeOriginal": "2025:11:03 07:41:05",
    }


def test_big_endian(tmp_path: Path) -> None:
    """A TIFF 6.0 header written by hand, most significant byte first: one directory with a model."""
    entry = struct.pack(">HHI", 272, 2, 6) + struct.pack(">I", 26)
    path = tmp_path / "a.nef"
    path.write_bytes(b"MM\0*" + struct.pack(">IH", 8, 1) + entry + bytes(4) + b"Quay2\0")
    header = header_of(path)
    assert {name: str(tag) for name, tag in header.tags.items()} == {"Image Model": "Quay2"}
    assert not header.certain


@pytest.mark.parametrize("content", [b"", b"II", b"dear diary\n" * 40, bytes(200), b"II*\0" + b"\xff" * 200])
def test_what_is_no_such_file_gives_nothing_or_an_empty_header(tmp_path: Path, content: bytes) -> None:
    """No error, and no words that are not there."""
    path = tmp_path / "a.dng"
    path.write_bytes(content)
    header = read_header(path)
    assert header is None or (not header.tags and header.embedded is None and not header.certain)


def test_broken_files_never_raise(dng: Callable[..., Path], tmp_path: Path) -> None:
    """Bytes changed and files cut at random: an answer or none, in bounded time, and never an exception."""
    whole = dng(exif=EXIF, preview_jpeg=picture()).read_bytes()
    chance, path = random.Random(5), tmp_path / "broken.dng"
    for _ in range(300):
        content = bytearray(whole[: chance.randrange(1, len(whole))])
        for _ in range(chance.randrange(20)):
            content[chance.randrange(min(len(content), 2000))] = chance.randrange(256)
        path.write_bytes(content)
        header = read_header(path)
        if header is not None:
            read_exposure(header.tags, {}, {})


def test_a_directory_that_points_to_itself_ends(tmp_path: Path) -> None:
    """Chains in a loop are followed once."""
    path = tmp_path / "loop.tif"
    path.write_bytes(b"II*\0" + struct.pack("<IH", 8, 0) + struct.pack("<I", 8))
    assert header_of(path).tags == {}


def test_real_files(raws: Path) -> None:
    """Exposure data and JPEG sizes of real files equal those of the slow way."""
    for name in (
        "ok/g4-linear.dng",
        "ok/chart-bordered.dng",
        "derived/bayer-h6.dng",
        "derived/sixbysix-h8.dng",
    ):
        header, frame = header_of(raws / name), RawFrame(raws / name)
        assert read_exposure(header.tags, {}, {}) == frame.exposure(), name
        rendering = frame.camera_rendering()
        assert (header.embedded is None) == (rendering is None), name
