"""Contact sheets: every picture in its place, captions that fit, one neutral ground."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from driftline.errors import PrintError, UsageError
from driftline.prints.sheet import GROUND, Cell, contact_sheet, write_sheet


def cell(colour: tuple[int, int, int], *, height: int = 60, width: int = 90) -> Cell:
    """A picture of one colour."""
    return Cell(np.full((height, width, 3), colour, np.uint8), ("night-07.dng", "1/250 s"))


COLOURS = [(200, 0, 0), (0, 200, 0), (0, 0, 200), (200, 200, 0), (0, 200, 200)]


def test_pictures_stand_in_reading_order() -> None:
    """Five pictures in three columns: each whole, in its row and column."""
    sheet = contact_sheet([cell(colour) for colour in COLOURS], edge=90, columns=3)
    places = []
    for colour in COLOURS:
        rows, columns = np.nonzero((sheet == colour).all(axis=-1))
        assert len(rows) == 60 * 90
        places.append((int(rows.min()), int(columns.min())))
    assert places[0][0] == places[1][0] == places[2][0] < places[3][0] == places[4][0]
    assert places[0][1] == places[3][1] < places[1][1] == places[4][1] < places[2][1]


def test_the_ground_is_neutral() -> None:
    """No colour beside the pictures but greys."""
    sheet = contact_sheet([cell((90, 90, 90))], edge=90, title="tram-fog")
    assert tuple(sheet[0, 0]) == GROUND
    assert (np.ptp(sheet.astype(int), axis=-1) == 0).all()


def test_large_pictures_are_reduced_and_small_ones_left() -> None:
    """The longer side is at most the edge; upright pictures are no wider than lying ones are high."""
    sheet = contact_sheet(
        [cell((200, 0, 0), height=400, width=200), cell((0, 200, 0), height=20, width=30)], edge=100
    )
    for colour, size in (((200, 0, 0), (100, 50)), ((0, 200, 0), (20, 30))):
        rows, columns = np.nonzero((sheet == colour).all(axis=-1))
        assert (np.ptp(rows) + 1, np.ptp(columns) + 1) == size


def test_a_missing_picture_keeps_its_place() -> None:
    """A frame that failed is an empty square with its reason below."""
    sheet = contact_sheet(
        [cell(COLOURS[0]), Cell(None, ("bad.dng", "damaged")), cell(COLOURS[1])], edge=90, columns=3
    )
    first, second = (np.nonzero((sheet == c).all(axis=-1))[1].min() for c in COLOURS[:2])
    assert second - first > 2 * 90


def test_long_captions_do_not_run_into_others() -> None:
    """A caption is cut at the edge of its own picture."""
    long = Cell(cell(COLOURS[0]).picture, ("m" * 200,))
    sheet = contact_sheet([long, Cell(cell(COLOURS[1]).picture, ("",))], edge=90, columns=2)
    start = np.nonzero((sheet == COLOURS[1]).all(axis=-1))[1].min()
    rows = np.nonzero((sheet == COLOURS[0]).all(axis=-1))[0].max() + 1
    assert (sheet[rows:, start:] == GROUND).all()
    assert not (sheet[rows:, :start] == GROUND).all()


@pytest.mark.parametrize(("count", "code"), [(0, "sheet-empty"), (2001, "sheet-too-large")])
def test_none_and_too_many_are_refused(count: int, code: str) -> None:
    """A sheet has 1 to 2000 pictures."""
    with pytest.raises(UsageError) as caught:
        contact_sheet([cell(COLOURS[0])] * count)
    assert caught.value.code == code


@pytest.mark.parametrize("name", ["a.jpg", "a.PNG"])
def test_a_sheet_is_written_whole_with_its_profile(tmp_path: Path, name: str) -> None:
    """JPEG or PNG by the suffix, sRGB named, nothing overwritten."""
    sheet = contact_sheet([cell(COLOURS[0])])
    write_sheet(tmp_path / name, sheet)
    with Image.open(tmp_path / name) as image:
        assert image.size == (sheet.shape[1], sheet.shape[0])
        assert b"sRGB" in image.info["icc_profile"].replace(b"\0", b"")
    with pytest.raises(PrintError):
        write_sheet(tmp_path / name, sheet)


def test_another_suffix_is_refused(tmp_path: Path) -> None:
    """A suffix we cannot write is an error with those we can."""
    with pytest.raises(UsageError, match=r"known are \.jpg") as caught:
        write_sheet(tmp_path / "a.gif", contact_sheet([cell(COLOURS[0])]))
    assert caught.value.code == "unknown-suffix"
