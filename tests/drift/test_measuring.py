"""Drift between two pictures as a whole: zero, sign, and what cannot be compared."""

from __future__ import annotations

import numpy as np
import pytest

from drift.pictures import chroma, edited, exposure, photograph, white
from driftline.drift import UNITS, measure_drift
from driftline.drift.causes import COLOUR_CAUSES, UNSIGNED
from driftline.errors import UsageError


@pytest.mark.parametrize("name", ["chelsea", "rocket"])
def test_equal_pictures_do_not_drift(name: str) -> None:
    """Every cause of two equal pictures is exactly 0, or cannot be compared."""
    picture = photograph(name)
    drift = measure_drift(picture, picture.copy())
    assert list(drift.causes) == list(UNITS)
    assert {cause.value for cause in drift.causes.values() if cause.comparable} == {0.0}
    assert drift.verdict == "in keeping"
    assert drift.largest is None


@pytest.mark.parametrize("name", ["chelsea", "rocket"])
def test_exchanging_the_pictures_turns_the_sign(name: str) -> None:
    """d(A, B) = -d(B, A) to 1e-5; split tint and residual are sizes and stay as they are."""
    picture = photograph(name)
    edit = edited(picture, lambda rgb: chroma(1.2)(white(15)(exposure(0.25)(rgb))))
    there, back = measure_drift(picture, edit[4:, 2:]), measure_drift(edit[4:, 2:], picture)
    for key, cause in there.causes.items():
        if cause.value is not None:
            mirrored = cause.value if key in UNSIGNED else -cause.value
            assert back.causes[key].value == pytest.approx(mirrored, abs=1e-5), key


def test_kinds_of_numbers_read_alike() -> None:
    """uint8, uint16 and float pictures of the same values give the same drift."""
    picture, edit = photograph("chelsea"), edited(photograph("chelsea"), exposure(0.3))
    whole = measure_drift(picture, edit).json()["causes"]
    wide = measure_drift(picture.astype(np.uint16) * 257, (edit / 255).astype(np.float32)).json()["causes"]
    for key in UNITS:
        assert whole[key]["value"] == pytest.approx(wide[key]["value"], abs=2e-5), key


@pytest.mark.parametrize(
    ("picture", "said"),
    [
        (np.zeros((64, 96, 3), np.uint8), "black"),
        (np.full((64, 96, 3), 128, np.uint8), "flat"),
        (np.full((64, 96, 3), 255, np.uint8), "flat"),
    ],
)
def test_an_empty_picture_has_no_number(picture: np.ndarray, said: str) -> None:
    """Nothing is read from a black, white or flat picture, and the reason is given."""
    for registered in (False, True):
        drift = measure_drift(photograph("chelsea")[:64, :96], picture, registered=registered)
        assert {cause.value for cause in drift.causes.values()} == {None}
        assert drift.verdict == "not judged"
        if not registered:
            assert said in drift.causes["exposure"].reason


def test_unlike_pictures_are_not_compared() -> None:
    """Two pictures of different things have no drift, and it is said that they do not fit."""
    drift = measure_drift(photograph("coffee"), photograph("chelsea"))
    assert {cause.value for cause in drift.causes.values()} == {None}
    assert "do not lie on each other" in drift.causes["hue"].reason


@pytest.mark.parametrize("name", ["chelsea", "rocket"])
def test_black_and_white_is_a_step_and_not_a_drift(name: str) -> None:
    """Against a black-and-white picture no colour is read, and tone still is."""
    picture = photograph(name)
    grey = edited(picture, lambda rgb: exposure(0.3)(chroma(0.0)(rgb)))
    for drift, sign in ((measure_drift(picture, grey), 1), (measure_drift(grey, picture), -1)):
        assert all(drift.causes[key].value is None for key in COLOUR_CAUSES)
        assert "black and white" in drift.causes["chroma"].reason
        assert drift.causes["exposure"].value == pytest.approx(sign * 0.3, abs=0.06)


def test_a_picture_that_is_none_is_refused() -> None:
    """An array of another shape, or with nan in it, is an error that says what was expected."""
    with pytest.raises(UsageError, match=r"shape \(40, 60\); expected \(rows, columns, 3\)"):
        measure_drift(np.zeros((40, 60)), photograph("chelsea"))
    holed = photograph("chelsea") / 255
    holed[3, 3] = np.nan
    with pytest.raises(UsageError, match="not finite"):
        measure_drift(photograph("chelsea"), holed)
