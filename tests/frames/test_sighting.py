"""What an index keeps of a frame, held against what the whole file says."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

import demo_frames
from driftline.frames import RawFrame, sight
from frames.written import MODEL, SOFTWARE, exif_block, picture

EXIF = {
    "make": "Ostrel",
    "model": "Ostrel K2",
    "taken": datetime(2025, 11, 3, 7, 41, 5),
}


@pytest.mark.parametrize("path", demo_frames.paths()[:3], ids=lambda path: path.stem)
def test_the_same_as_from_the_whole_file(path: Path) -> None:
    """Exposure and rendering are those of the frame itself, in the same words."""
    seen, frame = sight(path), RawFrame(path)
    assert seen.exposure == frame.exposure()
    assert (seen.rendering, seen.has_rendering) == (frame.camera_rendering_reason, True)
    assert (seen.paired, seen.unpaired, seen.problem) == ("", "", "")


def test_a_pair(dng: Callable[..., Path]) -> None:
    """The camera's JPEG beside the raw is named, and is the rendering where the raw has none."""
    path = dng(exif=EXIF)
    path.with_name("FRAME.JPG").write_bytes(picture(exif=exif_block({MODEL: "Ostrel K2"})))
    seen = sight(path, ["FRAME.JPG"])
    assert (seen.paired, seen.unpaired, seen.has_rendering) == ("FRAME.JPG", "", True)
    assert seen.rendering == RawFrame(path).camera_rendering_reason


def test_an_edited_jpeg_is_no_pair_and_that_is_said(dng: Callable[..., Path]) -> None:
    """Also where the raw has its own rendering: the pair is told apart from the edit."""
    path = dng(exif=EXIF, preview_jpeg=picture())
    edited = picture(exif=exif_block({MODEL: "Ostrel K2", SOFTWARE: "Picture Workshop 7"}))
    path.with_suffix(".jpg").write_bytes(edited)
    seen = sight(path, ["frame.jpg"])
    assert (seen.paired, seen.has_rendering, seen.rendering) == ("", True, "the JPEG embedded in the raw")
    assert seen.unpaired == (
        "frame.jpg beside it is not taken: it was written by Picture Workshop 7, not by the camera"
    )


def test_a_tiny_jpeg_inside_is_no_rendering(dng: Callable[..., Path]) -> None:
    """In the words of the frame itself."""
    path = dng(preview_jpeg=picture(size=(160, 120)))
    seen = sight(path)
    assert (seen.has_rendering, seen.rendering) == (False, RawFrame(path).camera_rendering_reason)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "the file is empty"),
        (b"dear diary\n" * 40, "not a raw file"),
        (bytes(4000), "not a raw file"),
        (picture(), "a JPEG under the name of a raw file"),
    ],
    ids=["empty", "text", "zeros", "jpeg"],
)
def test_what_cannot_be_read_is_a_problem(tmp_path: Path, content: bytes, words: str) -> None:
    """No error: the frame is told with what is wrong."""
    path = tmp_path / "a.dng"
    path.write_bytes(content)
    assert words in sight(path).problem
    assert str(path) in sight(path).problem


def test_a_jpeg_that_was_named_for_a_frame(tmp_path: Path) -> None:
    """As ``shoot day/*`` names those of all pairs: it says what it is, and that a folder is enough."""
    path = tmp_path / "a.JPG"
    path.write_bytes(picture())
    assert sight(path).problem == f"{path}: a JPEG; of a folder, raw files alone are taken"


def test_a_missing_file_is_a_problem(tmp_path: Path) -> None:
    """It may have gone between listing and reading."""
    assert "there is no such file" in sight(tmp_path / "gone.dng").problem


def test_a_raw_of_another_container(raws: Path) -> None:
    """CRW is not TIFF-like: read by the decoder, with its JPEG."""
    seen = sight(raws / "ok" / "d30.crw")
    assert seen.exposure == RawFrame(raws / "ok" / "d30.crw").exposure()
    assert seen.has_rendering
