"""The correction of one frame."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from driftline.errors import RecipeError
from driftline.recipe import (
    NO_CORRECTION,
    Correction,
    Crop,
    Dodge,
    correction_text,
    parse_correction,
    read_correction,
)

UNIT = st.floats(0, 1)
CROPS = st.builds(
    Crop, left=st.floats(0, 0.4), top=st.floats(0, 0.4), right=st.floats(0.6, 1), bottom=st.floats(0.6, 1)
)
DODGES = st.builds(Dodge, x=UNIT, y=UNIT, radius=st.floats(0.01, 1), ev=st.floats(-3, 3))
CORRECTIONS = st.builds(
    Correction,
    ev=st.floats(-6, 6),
    shift=st.floats(-150, 150),
    crop=CROPS | st.just(Crop()),
    turn=st.floats(-45, 45),
    dodge=st.none() | DODGES,
)


def test_an_empty_correction_changes_nothing() -> None:
    """Nothing said is nothing corrected, and writes as nothing."""
    assert parse_correction("", source="empty") == NO_CORRECTION == Correction()
    assert NO_CORRECTION.crop == (0.0, 0.0, 1.0, 1.0)
    assert NO_CORRECTION.dodge is None
    assert correction_text(NO_CORRECTION) == ""


@given(correction=CORRECTIONS)
def test_reading_undoes_writing(correction: Correction) -> None:
    """read(write(c)) == c."""
    assert parse_correction(correction_text(correction), source="written") == correction
    assert hash(Correction(**dict(correction))) == hash(correction)


def test_crop_and_dodge_by_name_or_by_four_numbers(tmp_path: Path) -> None:
    """Tables with names and four numbers in brackets say the same; they unpack in that order."""
    path = tmp_path / "frame.toml"
    path.write_text("crop = [0.1, 0, 0.9, 1]\n[dodge]\nx = 0.5\ny = 0.4\nradius = 0.2\nev = 0.5\n")
    correction = read_correction(path)
    left, top, right, bottom = correction.crop
    assert (left, top, right, bottom) == (0.1, 0.0, 0.9, 1.0)
    assert correction.dodge == Dodge(x=0.5, y=0.4, radius=0.2, ev=0.5)
    assert correction_text(correction) == (
        "crop = { left = 0.1, top = 0.0, right = 0.9, bottom = 1.0 }\n"
        "dodge = { x = 0.5, y = 0.4, radius = 0.2, ev = 0.5 }\n"
    )


@pytest.mark.parametrize(
    ("text", "code", "said"),
    [
        ("ev = 9", "correction-out-of-range", "line 1, ev: 9; allowed -6 to 6"),
        ("\nturn = 90", "correction-out-of-range", "line 2, turn: 90; allowed -45 to 45"),
        ("crop = { left = 1.5 }", "correction-out-of-range", "line 1, crop.left: 1.5; allowed 0 to 1"),
        ("crop = [0, 0, 2, 1]", "correction-out-of-range", "line 1, crop[2]: 2; allowed 0 to 1"),
        (
            "crop = { left = 0.6, right = 0.5 }",
            "correction-out-of-range",
            "left 0.6, right 0.5; allowed right at least",
        ),
        ("crop = [0, 0, 1, 1, 1]", "correction-wrong-type", "four numbers in brackets"),
        ("crop = 0.5", "correction-wrong-type", "crop: 0.5; a table or"),
        (
            "crop = { lft = 0.5 }",
            "correction-unknown-field",
            "crop.lft: unknown field; known here: left, top",
        ),
        ("dodge = { x = 0.5, y = 0.5, ev = 1 }", "correction-missing-field", "dodge.radius: missing"),
        ("dodge = [0.5, 0.5]", "correction-wrong-type", "four numbers in brackets"),
        ("slope = 1", "correction-unknown-field", "known here: ev, shift, crop, turn, dodge"),
    ],
)
def test_what_is_wrong_and_where(text: str, code: str, said: str) -> None:
    """Each mistake is told as in a recipe, under a code of its own."""
    with pytest.raises(RecipeError) as caught:
        parse_correction(text, source="c.toml")
    assert caught.value.code == code
    assert said in caught.value.message
    assert caught.value.hint


def test_a_missing_file_says_so(tmp_path: Path) -> None:
    """The code tells corrections from recipes."""
    with pytest.raises(RecipeError) as caught:
        read_correction(tmp_path / "none.toml")
    assert caught.value.code == "correction-missing"


def test_it_is_frozen() -> None:
    """A correction is changed by making another."""
    with pytest.raises(ValidationError, match="frozen"):
        NO_CORRECTION.ev = 1.0  # type: ignore[misc]
