"""The folder of pages: what is ours, what is made once, what is left behind."""

from __future__ import annotations

import os
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from driftline.errors import FrameError, UsageError
from driftline.pages.folder import LARGEST_EDGE, PageFolder, page_name
from pages.history import image, picture


@pytest.fixture
def folder(tmp_path: Path) -> PageFolder:
    """A new folder of pages."""
    made = PageFolder(tmp_path / "pages")
    made.take()
    return made


def test_a_folder_with_something_else_is_refused(tmp_path: Path) -> None:
    """Somebody's pictures are not mixed with pages, and nothing is written."""
    (tmp_path / "holiday.jpg").write_bytes(b"mine")
    with pytest.raises(UsageError) as refused:
        PageFolder(tmp_path).take()
    assert refused.value.code == "page-folder-taken"
    assert [path.name for path in tmp_path.iterdir()] == ["holiday.jpg"]


def test_a_file_in_the_place_of_the_folder_is_refused(tmp_path: Path) -> None:
    """A file is never replaced by a folder."""
    (tmp_path / "pages").write_text("mine")
    with pytest.raises(UsageError, match="left alone"):
        PageFolder(tmp_path / "pages").take()


def test_our_own_folder_is_taken_again(folder: PageFolder) -> None:
    """A folder we made may be built into again, also after a build that was cut short."""
    PageFolder(folder.root).take()


def test_a_picture_is_loaded_once(folder: PageFolder) -> None:
    """The same key is never loaded again, not by another build either."""
    loads: list[int] = []

    def load() -> bytes:
        loads.append(1)
        return image()

    first = folder.show(picture("tram-fog@1 on a1", load))
    again = PageFolder(folder.root).show(picture("tram-fog@1 on a1", load))
    assert loads == [1]
    assert first == again
    assert (first.width, first.height) == (48, 32)
    assert (folder.root / first.address).is_file()


def test_a_picture_is_shown_small_upright_and_bare(folder: PageFolder) -> None:
    """Large pictures shrink, EXIF turns are done, and place and other metadata are left behind."""
    exif = Image.Exif()
    exif[0x0112] = 6  # orientation: turn by 90 degrees clockwise
    exif[0x8825] = {1: "N", 2: (1.0, 2.0, 3.0)}  # a place
    shown = folder.show(picture("big", lambda: image(size=(1200, 800), exif=exif.tobytes())))
    assert (shown.width, shown.height) == (LARGEST_EDGE * 2 // 3, LARGEST_EDGE)
    with Image.open(folder.root / shown.address) as made:
        assert len(made.getexif()) == 0


def test_a_profile_is_kept(folder: PageFolder) -> None:
    """A print in another space keeps its ICC profile."""
    profile = bytes(128 * [7])
    shown = folder.show(picture("wide", lambda: image(icc_profile=profile)))
    with Image.open(folder.root / shown.address) as made:
        assert made.info["icc_profile"] == profile


def test_other_image_formats_are_shown_too(folder: PageFolder) -> None:
    """A grey PNG becomes a picture of the page."""
    out = BytesIO()
    Image.new("L", (10, 20), 99).save(out, "PNG")
    assert folder.show(picture("grey", out.getvalue)).height == 20


def _refuse() -> bytes:
    raise FrameError("no-picture", "this proof is not kept in the ledger")


@pytest.mark.parametrize(
    ("load", "reason"),
    [(_refuse, "not kept"), (lambda: b"no image", "cannot be shown"), (lambda: b"", "cannot be shown")],
)
def test_a_broken_picture_costs_only_itself(folder: PageFolder, load: object, reason: str) -> None:
    """It says why there is none, and leaves no file."""
    shown = folder.show(picture("broken", load))  # type: ignore[arg-type]
    assert shown.address == ""
    assert reason in shown.reason
    assert list((folder.root / "pictures").iterdir()) == []


def test_writing_the_same_again_touches_nothing(folder: PageFolder) -> None:
    """A page that says the same already is not written again; a new one leaves no part file."""
    folder.write("looks/tram-fog.html", "one")
    before = os.stat(folder.root / "looks/tram-fog.html").st_mtime_ns
    folder.write("looks/tram-fog.html", "one")
    assert os.stat(folder.root / "looks/tram-fog.html").st_mtime_ns == before
    folder.write("looks/tram-fog.html", "two")
    assert (folder.root / "looks/tram-fog.html").read_text() == "two"
    assert [path.name for path in (folder.root / "looks").iterdir()] == ["tram-fog.html"]


@pytest.mark.parametrize(
    "name", ["../../etc", "<b>", "a/b", "A", ".hidden", "", "x" * 200, "\u202egnp", "con\n", "a b"]
)
def test_page_names_stay_in_the_folder(name: str) -> None:
    """Whatever a recipe is called, its file name is plain and its own."""
    made = page_name(name)
    assert set(made) <= set("abcdefghijklmnopqrstuvwxyz0123456789.-")
    assert made[0] not in ".-"
    assert len(made) <= 81
    assert made != page_name(name + "!")


def test_plain_names_stay_themselves() -> None:
    """Names that the ledger allows are not changed."""
    assert [page_name(name) for name in ("tram-fog", "8.laptop", "7")] == ["tram-fog", "8.laptop", "7"]
