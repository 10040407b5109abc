"""What TIFF-like files state themselves."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import tifffile

from driftline.frames.directories import directory_beyond_end, read_directories
from frames.written import picture


def test_the_sensors_directory_is_found(dng: Callable[..., Path]) -> None:
    """Behind a preview, the directory with the sensor values is the one that says so."""
    directories = read_directories(dng(preview_jpeg=picture()))
    assert directories.is_dng
    assert directories.sensor is not None
    assert (directories.sensor.first(256), directories.sensor.first(257)) == (160, 120)


def test_a_directory_of_another_size_is_not_believed(dng: Callable[..., Path]) -> None:
    """Where the decoder read another picture of the file, the directory says nothing about it."""
    directories = read_directories(dng())
    assert directories.sensor_of_dng(160, 120) is directories.sensor
    assert directories.sensor_of_dng(320, 240) is None


def test_numbers(dng: Callable[..., Path]) -> None:
    """Rationals come as floats, absent tags as nothing."""
    sensor = read_directories(dng(black=[[500.5, 512], [520, 530]])).sensor
    assert sensor is not None
    assert sensor.numbers(50714) == [500.5, 512, 520, 530]
    assert sensor.numbers(51041) == []
    assert sensor.first(51041) is None


def test_the_previews_space_is_that_of_the_preview(dng: Callable[..., Path]) -> None:
    """PreviewColorSpace belongs to the preview of that size."""
    directories = read_directories(dng(preview_jpeg=picture(size=(480, 320))))
    assert directories.preview_space(480, 320) == 2
    assert directories.preview_space(240, 160) is None


@pytest.mark.parametrize("compression", ["none", "lossless-jpeg"])
def test_missing_bytes(dng: Callable[..., Path], compression: str) -> None:
    """A file cut by 1000 bytes lacks up to 1000 bytes of sensor data; a whole one none."""
    path = dng(compression=compression)
    size = path.stat().st_size
    directories = read_directories(path)
    end = directories.sensor.data_end if directories.sensor else 0
    assert directories.missing_bytes(size, binding=True) == 0
    assert directories.missing_bytes(end - 1000, binding=True) == 1000


def test_makers_own_encodings_do_not_bind(tmp_path: Path) -> None:
    """Byte counts of an encoding that no standard knows explain, but do not refuse."""
    path = tmp_path / "a.tif"
    tags = [(33421, 3, 2, (2, 2), True), (33422, 1, 4, b"\0\1\1\2", True)]
    tifffile.imwrite(path, np.zeros((16, 16), np.uint16), photometric=32803, extratags=tags)
    with tifffile.TiffFile(path, mode="r+") as file:
        file.pages.first.tags[259].overwrite(32767)
    directories = read_directories(path)
    assert directories.missing_bytes(0) > 0
    assert directories.missing_bytes(0, binding=True) == 0


@pytest.mark.parametrize("blob", [b"", b"II*\0", b"II*\0\xff\xff\xff\x7f", b"no TIFF at all", bytes(64)])
def test_what_cannot_be_read_states_nothing(tmp_path: Path, blob: bytes) -> None:
    """Broken and foreign files have no directories, and that is no error."""
    path = tmp_path / "a.dng"
    path.write_bytes(blob)
    assert read_directories(path).all == ()
    assert read_directories(path).sensor is None


@pytest.mark.parametrize(
    ("head", "offset"),
    [
        (b"II*\0\x00\x01\x00\x00", 256),
        (b"MM\0*\x00\x00\x01\x00", 256),
        (b"IIRO\x00\x01\x00\x00", 256),
        (b"II*\0\x08\x00\x00\x00", None),
        (b"FUJIFILM", None),
        (b"II", None),
    ],
)
def test_a_directory_behind_the_end(tmp_path: Path, head: bytes, offset: int | None) -> None:
    """A first directory that lies behind the end of the file shows that the file was cut."""
    path = tmp_path / "a.dng"
    path.write_bytes(head + bytes(4))
    assert directory_beyond_end(path) == offset


def test_damaged_directories_never_raise(dng: Callable[..., Path]) -> None:
    """Whatever byte of the directories is wrong, reading them gives something or nothing."""
    path = dng()
    blob = path.read_bytes()
    rng = np.random.default_rng(4)
    for _ in range(60):
        wrong = bytearray(blob)
        for place in rng.integers(0, 330, 4):
            wrong[place] = rng.integers(256)
        path.write_bytes(wrong)
        read_directories(path)
        directory_beyond_end(path)
