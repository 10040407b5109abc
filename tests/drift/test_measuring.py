"""Drift between two pictures as a whole: zero, sign, and what cannot be compared."""

from __future__ import annotations

import numpy as np
import pytest

from drift.pictures import chroma, edited, exposure, photograph, white
from driftline.colorimetry.encodings import srgb_encode
from driftline.colorimetry.oklab import oklab_to_srgb
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


LEAF_HUE, BRICK_HUE = 126.0, 42.0
"""Oklab; about where the ColorChecker patches foliage and moderate red to light skin lie."""


def leaves(blocks: int, *turns: float, black: int = 0) -> np.ndarray:
    """A ramp, lighter to the right, grey above brick, with strips of leaves: encoded sRGB (240, 320, 3).

    Each turn has ``blocks`` blocks of four by four pixels of leaves turned by so many degrees; the first
    ``black`` of each are black.
    """
    L = np.broadcast_to(np.linspace(0.35, 0.85, 320), (240, 320)).copy()
    z = np.repeat([0, 0.1 * np.exp(1j * np.radians(BRICK_HUE))], 120)[:, None] * np.ones(320)
    for n, turn in enumerate(turns):
        rows = slice(40 * n, 40 * n + 4 * (blocks // 16))
        z[rows, 128:192] = 0.2 * np.exp(1j * np.radians(LEAF_HUE + turn))
        L[rows, 128 : 128 + 4 * (16 * black // blocks)] = 0.0
    return np.clip(srgb_encode(oklab_to_srgb(np.stack([L, L * z.real, L * z.imag], axis=-1))), 0, 1)


@pytest.mark.parametrize("left", [64, 32])
def test_leaves_that_an_edit_blackens_are_still_read(left: int) -> None:
    """Of 128 blocks of leaves a part is left to compare, turned by 6 degrees: that is what is read."""
    edit = leaves(128, 6.0, black=128 - left)
    cause = measure_drift(leaves(128, 0.0), edit, registered=True).causes["hue_foliage"]
    assert cause.value == pytest.approx(6.0, abs=0.1)


def test_few_leaves_are_not_read() -> None:
    """64 blocks of leaves are too few when neither picture has more; so are the 16 that are left of 128."""
    few = measure_drift(leaves(64, 0.0), leaves(64, 6.0), registered=True)
    rest = measure_drift(leaves(128, 0.0), leaves(128, 6.0, black=112), registered=True)
    for drift in (few, rest):
        assert drift.causes["hue_foliage"].reason == "hardly any foliage colours in the picture"


def test_a_turn_that_reaches_some_colours_more_than_others_rises_with_it() -> None:
    """Leaves of which a third turn three times as far: the reading never falls, and lies between the two."""
    plain, steps = leaves(128, 0.0, 0.0, 0.0), np.arange(1.0, 13.0)
    edits = [leaves(128, step, step, 3 * step) for step in steps]
    read = [measure_drift(plain, edit, registered=True).causes["hue_foliage"].value for edit in edits]
    assert read == sorted(read)
    assert all(step <= value <= 2 * step for step, value in zip(steps, read, strict=True))
