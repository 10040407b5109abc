"""Finding the frames of a shoot."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from driftline.errors import FrameError
from driftline.frames import RAW_SUFFIXES, list_frames


def touch(*paths: Path) -> None:
    """Make files, and the folders they lie in."""
    for path in paths:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"x")


def test_a_folder_sorted_and_deep(tmp_path: Path) -> None:
    """A folder is searched to any depth, and its frames come sorted by path."""
    frames = [tmp_path / name for name in ("a/2.nef", "a/10.dng", "b.cr3", "c/d/e.raf")]
    touch(*frames, tmp_path / "a" / "2.jpg", tmp_path / "notes.txt")
    assert list_frames([tmp_path]) == sorted(frames)


@pytest.mark.parametrize("name", ["A.DNG", "a.Nef", "a.cR2", "a.ARW", "a.x3f", "a.3FR"])
def test_suffixes_in_any_case(tmp_path: Path, name: str) -> None:
    """Cameras write suffixes in capitals."""
    touch(tmp_path / name)
    assert list_frames([tmp_path]) == [tmp_path / name]


def test_suffixes_are_lower_case_with_a_dot() -> None:
    """The list can be compared with ``Path.suffix.lower()``."""
    assert all(suffix.startswith(".") and suffix == suffix.lower() for suffix in RAW_SUFFIXES)


def test_named_files_are_taken_whatever_their_suffix(tmp_path: Path) -> None:
    """Who names a file means it."""
    touch(tmp_path / "odd.bin", tmp_path / ".hidden.dng")
    named = [tmp_path / "odd.bin", tmp_path / ".hidden.dng"]
    assert list_frames(named) == named


def test_hidden_files_and_folders_are_skipped(tmp_path: Path) -> None:
    """Of a folder, neither dot files, nor the ``._`` companions of another system, nor dot folders."""
    touch(tmp_path / "._a.dng", tmp_path / ".b.dng", tmp_path / ".trash" / "c.dng", tmp_path / "a.dng")
    assert list_frames([tmp_path]) == [tmp_path / "a.dng"]


def test_a_folder_called_like_a_frame(tmp_path: Path) -> None:
    """A folder is not a frame whatever it is called."""
    touch(tmp_path / "shoot.dng" / "a.dng")
    assert list_frames([tmp_path]) == [tmp_path / "shoot.dng" / "a.dng"]


def test_order_of_the_request_is_kept_and_nothing_comes_twice(tmp_path: Path) -> None:
    """Two requests that overlap give each frame once, where it was first asked for."""
    touch(tmp_path / "a.dng", tmp_path / "b.dng")
    assert list_frames([tmp_path / "b.dng", tmp_path]) == [tmp_path / "b.dng", tmp_path / "a.dng"]


def test_links_in_a_loop_end(tmp_path: Path) -> None:
    """A link to a folder above is entered once at most; a link to a frame is a frame."""
    touch(tmp_path / "shoot" / "a.dng")
    (tmp_path / "shoot" / "again").symlink_to(tmp_path / "shoot", target_is_directory=True)
    (tmp_path / "shoot" / "b.dng").symlink_to(tmp_path / "shoot" / "a.dng")
    found = list_frames([tmp_path / "shoot"])
    assert [path.name for path in found] == ["a.dng", "b.dng"]


def test_a_broken_link_is_skipped_in_a_folder(tmp_path: Path) -> None:
    """A link to nowhere is no file."""
    (tmp_path / "a.dng").symlink_to(tmp_path / "gone.dng")
    assert list_frames([tmp_path]) == []


def test_an_empty_folder(tmp_path: Path) -> None:
    """A folder without frames gives none."""
    assert list_frames([tmp_path]) == []


def test_missing(tmp_path: Path) -> None:
    """A path that is not there is an error that names it."""
    with pytest.raises(FrameError, match=r"gone: there is no such file or folder") as caught:
        list_frames([tmp_path / "gone"])
    assert caught.value.code == "frame-missing"


def test_text_and_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Paths may be text, and ``~`` is the home folder."""
    touch(tmp_path / "a.dng")
    monkeypatch.setenv("HOME", os.fspath(tmp_path))
    assert list_frames(["~/a.dng"]) == [tmp_path / "a.dng"]
