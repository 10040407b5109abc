"""A file is there whole or not at all."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from driftline.errors import PrintError
from driftline.prints import sweep, write_file, write_new


class Killed(BaseException):
    """Stands for a death at one step: no handler of ours catches it."""


def test_writes_what_was_given(tmp_path: Path) -> None:
    """The content stands under its name, readable as the user's umask says, and no part file is left."""
    mask = os.umask(0o022)
    try:
        write_file(tmp_path / "a.jpg", b"content")
    finally:
        os.umask(mask)
    assert (tmp_path / "a.jpg").read_bytes() == b"content"
    assert (tmp_path / "a.jpg").stat().st_mode & 0o777 == 0o644
    assert os.listdir(tmp_path) == ["a.jpg"]


@pytest.mark.parametrize("kind", ["file", "folder", "dead link"])
def test_what_stands_there_stays(tmp_path: Path, kind: str) -> None:
    """An existing file, folder or link is never overwritten unless asked."""
    path = tmp_path / "a.jpg"
    if kind == "file":
        path.write_bytes(b"old")
    elif kind == "folder":
        path.mkdir()
    else:
        path.symlink_to(tmp_path / "nowhere")
    with pytest.raises(PrintError) as caught:
        write_file(path, b"new")
    assert caught.value.code == "print-exists"
    assert os.listdir(tmp_path) == ["a.jpg"]
    assert kind != "file" or path.read_bytes() == b"old"


def test_replaces_when_asked(tmp_path: Path) -> None:
    """The new content takes the place of the old."""
    (tmp_path / "a.jpg").write_bytes(b"old")
    write_file(tmp_path / "a.jpg", b"new", replace=True)
    assert (tmp_path / "a.jpg").read_bytes() == b"new"


@pytest.mark.parametrize("links", [True, False])
def test_without_links_nothing_is_overwritten_either(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool
) -> None:
    """File systems of memory cards know no hard links; the promise holds there too."""
    if not links:

        def refuse(*_: object) -> None:
            raise OSError(errno.EPERM, "no links here")

        monkeypatch.setattr(os, "link", refuse)
    write_file(tmp_path / "a.jpg", b"one")
    with pytest.raises(PrintError):
        write_file(tmp_path / "a.jpg", b"two")
    assert (tmp_path / "a.jpg").read_bytes() == b"one"
    assert os.listdir(tmp_path) == ["a.jpg"]


def test_a_full_disk_is_named_and_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Disk full in the middle: an error that says so, no print, no rest."""

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(PrintError) as caught:
        write_file(tmp_path / "a.jpg", b"content")
    assert caught.value.code == "disk-full"
    assert os.listdir(tmp_path) == []


def test_a_missing_folder_is_an_error_in_words(tmp_path: Path) -> None:
    """The system's own reason is passed on."""
    with pytest.raises(PrintError, match="No such file or directory"):
        write_file(tmp_path / "none" / "a.jpg", b"content")


@pytest.mark.parametrize("step", ["open", "fsync", "link", "unlink"])
@pytest.mark.parametrize("when", ["before", "after"])
def test_a_death_at_any_step_leaves_old_or_new(tmp_path: Path, step: str, when: str) -> None:
    """Before and after each system call: the name holds nothing or all of it, and what is left is swept."""
    child = os.fork()
    if child == 0:
        real = getattr(os, step)

        def dying(*args: object, **options: object) -> object:
            result = real(*args, **options) if when == "after" else None
            os._exit(9)
            return result

        setattr(os, step, dying)
        write_file(tmp_path / "a.jpg", b"content")
        os._exit(0)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9
    whole = tmp_path / "a.jpg"
    assert not whole.exists() or whole.read_bytes() == b"content"
    sweep(tmp_path)
    assert set(os.listdir(tmp_path)) <= {"a.jpg"}
    assert whole.exists() == ((step, when) in {("link", "after"), ("unlink", "before"), ("unlink", "after")})


def test_a_librarys_output_is_written_whole(tmp_path: Path) -> None:
    """What a library writes into an open file arrives at once, and never over something else."""
    write_new(tmp_path / "map.png", lambda file: file.write(b"picture"))
    assert (tmp_path / "map.png").read_bytes() == b"picture"
    with pytest.raises(PrintError):
        write_new(tmp_path / "map.png", lambda file: file.write(b"other"))
