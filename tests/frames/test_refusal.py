"""Why files are not taken: each reason has a code, says what was found, and what to do next."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from driftline.errors import FrameError
from driftline.frames import RawFrame
from driftline.frames.child import Answer
from driftline.frames.directories import Directories
from driftline.frames.refusal import refuse
from frames.written import picture


def refusal(path: Path) -> FrameError:
    """The error that a frame's sensor data end in."""
    with pytest.raises(FrameError) as caught:
        RawFrame(path).sensor()
    assert str(path) in caught.value.message
    assert caught.value.hint
    return caught.value


def test_missing(tmp_path: Path) -> None:
    """A path with nothing there."""
    assert refusal(tmp_path / "gone.dng").code == "frame-missing"


def test_a_link_to_nowhere(tmp_path: Path) -> None:
    """A link whose file is gone says that it is a link."""
    (tmp_path / "a.dng").symlink_to(tmp_path / "gone.dng")
    error = refusal(tmp_path / "a.dng")
    assert error.code == "frame-missing"
    assert "a link to a file that is not there" in error.message


def test_a_folder(tmp_path: Path) -> None:
    """A folder is not a frame."""
    assert refusal(tmp_path).code == "frame-not-a-file"


def test_a_pipe(tmp_path: Path) -> None:
    """Nor is a pipe, which would be waited for without end."""
    os.mkfifo(tmp_path / "a.dng")
    assert refusal(tmp_path / "a.dng").code == "frame-not-a-file"


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_no_permission(dng: Callable[..., Path]) -> None:
    """A file that may not be read says so."""
    path = dng()
    path.chmod(0)
    assert refusal(path).code == "frame-unreadable"


@pytest.mark.parametrize("blob", [b"", b"a shopping list\n" * 50, bytes(5000)])
def test_what_is_no_raw(tmp_path: Path, blob: bytes) -> None:
    """Empty files, text and zeros are no raw files."""
    path = tmp_path / "a.dng"
    path.write_bytes(blob)
    assert refusal(path).code == "frame-not-raw"


def test_a_jpeg_is_no_raw(tmp_path: Path) -> None:
    """A JPEG under a raw suffix is no raw file."""
    path = tmp_path / "a.dng"
    path.write_bytes(picture())
    assert refusal(path).code == "frame-not-raw"


def test_a_file_that_begins_like_a_raw(tmp_path: Path) -> None:
    """A TIFF without sensor data gets a word that it looked like one."""
    path = tmp_path / "a.dng"
    path.write_bytes(b"II*\0\x08\0\0\0" + bytes(500))
    error = refusal(path)
    assert error.code == "frame-not-raw"
    assert "begins like a raw file" in error.message


def test_cut_before_the_directory(dng: Callable[..., Path]) -> None:
    """A file whose directory lies behind the cut says how long it should be."""
    path = dng()
    blob = bytearray(path.read_bytes())
    blob[4:8] = (len(blob) + 5000).to_bytes(4, "little")
    path.write_bytes(blob)
    error = refusal(path)
    assert error.code == "frame-truncated"
    assert f"{len(blob)} bytes of the {len(blob) + 5001} at least" in error.message


@pytest.mark.parametrize("compression", ["none", "lossless-jpeg"])
@pytest.mark.parametrize("part", [0.3, 0.6, 0.9, 0.99])
def test_cut_sensor_data(dng: Callable[..., Path], compression: str, part: float) -> None:
    """Sensor data that break off are an error wherever they do."""
    path = dng(compression=compression)
    blob = path.read_bytes()
    path.write_bytes(blob[: int(len(blob) * part)])
    error = refusal(path)
    assert error.code == "frame-truncated"
    assert "the file breaks off" in error.message


def test_a_whole_preview_is_mentioned(dng: Callable[..., Path], mosaic: NDArray[np.uint16]) -> None:
    """Where the sensor data are lost but the camera rendering is whole, the hint says so."""
    path = dng(mosaic, preview_jpeg=picture(size=(480, 320)), compression="none")
    blob = path.read_bytes()
    start, entry = blob.index(mosaic.tobytes()), (273).to_bytes(2, "little") + b"\4\0\1\0\0\0"
    behind = (len(blob) - 1000).to_bytes(4, "little")  # as if the file had been written the other way round
    path.write_bytes(blob.replace(entry + start.to_bytes(4, "little"), entry + behind))
    error = refusal(path)
    assert error.code == "frame-truncated"
    assert "its camera rendering (480 × 320) is whole" in error.hint


def test_damaged_data(dng: Callable[..., Path]) -> None:
    """Sensor data that the decoder cannot make sense of."""
    path = dng()
    blob = path.read_bytes()
    middle = len(blob) // 2
    path.write_bytes(blob[:middle] + bytes(4000) + blob[middle + 4000 :])
    assert refusal(path).code == "frame-damaged"


def test_a_complaint_fails_the_frame(dng: Callable[..., Path]) -> None:
    """A decode that gives pixels but complains is damaged, and the complaint is in the message."""
    path = dng()
    error = refuse(path, Answer(complaints="data corrupted at 4711"), Directories(), "")
    assert error.code == "frame-damaged"
    assert "data corrupted at 4711" in error.message


def test_too_large_is_refused_before_memory_is_taken(dng: Callable[..., Path]) -> None:
    """A file that states 30 000 × 20 000 photosites is refused by its size alone."""
    path = dng(compression="none")
    blob = path.read_bytes()
    for tag, size in ((256, 30_000), (257, 20_000)):
        entry = tag.to_bytes(2, "little") + b"\4\0\1\0\0\0"
        place = blob.index(entry) + len(entry)
        blob = blob[:place] + size.to_bytes(4, "little") + blob[place + 4 :]
    path.write_bytes(blob)
    error = refusal(path)
    assert error.code == "frame-too-large"
    assert "30000 × 20000 photosites" in error.message


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("unsupported-codec.gpr", "frame-unsupported"),
        ("sensor-cut-jpeg-whole.arw", "frame-truncated"),
        ("head-only.cr3", "frame-truncated"),
        ("stub.cr2", "frame-not-raw"),
        ("all-zero-no-error.dng", "frame-empty"),
    ],
)
def test_real_bad_files(raws: Path, name: str, code: str) -> None:
    """Each of the bad files has its own clear error."""
    assert refusal(raws / "bad" / name).code == code


def test_the_real_file_with_a_whole_jpeg(raws: Path) -> None:
    """sensor-cut-jpeg-whole.arw: its JPEG of 1616 × 1080 is whole, and the hint says so."""
    error = refusal(raws / "bad" / "sensor-cut-jpeg-whole.arw")
    assert "1048576 bytes of the 11418600" in error.message
    assert "(1616 × 1080) is whole" in error.hint
