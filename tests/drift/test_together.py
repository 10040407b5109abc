"""Three pictures at the same places: floor and edit add up to the total."""

from __future__ import annotations

import pytest

from drift.pictures import NAMES, Picture, chroma, contrast, edited, exposure, jpeg, photograph, white
from driftline.drift import Drift
from driftline.drift.grid import linear_light
from driftline.drift.measuring import drift_between
from driftline.drift.together import Together
from driftline.drift.views import View, common_mask

CLOSURE = {"exposure": 0.06, "contrast": 0.04, "chroma": 0.05, "hue": 1.2, "white": 3.0}
"""Source: the validation plan of the drift model; white is held to it unless its confidence is low."""


def columns(*pictures: Picture) -> tuple[Drift, Drift, Drift]:
    """Floor, edit and total of a camera rendering, plain and an edit that lie pixel on pixel."""
    views = tuple(View(linear_light(p, name="a picture", keep=10**9)) for p in pictures)
    at = Together(views, common_mask(views))
    return drift_between(at, (0, 1)), drift_between(at, (1, 2)), drift_between(at, (0, 2))


@pytest.mark.parametrize("name", NAMES)
def test_floor_and_edit_add_up_to_the_total(name: str) -> None:
    """A camera rendering of another white, tone and colour, through JPEG; an edit of all of them.

    The case is that of the plan: -8 mired, +.25 EV, slope 1.15, chroma 1.12, JPEG 90 4:2:0 from plain to
    camera; +15 mired, -.4 EV, slope 1.1, chroma 1.25, hue +3 from plain to edit.
    """
    plain = photograph(name)
    camera = edited(plain, lambda rgb: chroma(1.12)(contrast(1.15)(exposure(0.25)(white(-8)(rgb)))))
    edit = edited(plain, lambda rgb: chroma(1.25, 3)(contrast(1.1)(exposure(-0.4)(white(15)(rgb)))))
    floor, moved, total = columns(jpeg(camera, 90, "4:2:0"), plain, edit)
    for key, allowed in CLOSURE.items():
        if total.causes[key].confident:
            added = floor.causes[key].value + moved.causes[key].value
            assert total.causes[key].value == pytest.approx(added, abs=allowed), key
    for key in ("detail_fine", "detail_middling", "detail_broad"):
        added = floor.causes[key].value + moved.causes[key].value
        assert total.causes[key].value == pytest.approx(added, abs=1e-9), key
    split = floor.causes["split_tint"].vector, moved.causes["split_tint"].vector
    if None not in split:
        assert abs(total.causes["split_tint"].vector - sum(split)) < 0.5


def test_one_colour_all_over_makes_the_white_unsure() -> None:
    """On a picture of one strong cast white is measured and not judged."""
    picture = photograph("coffee")
    (_, _, drift) = columns(picture, picture, edited(picture, white(25)))
    assert drift.causes["white"].value == pytest.approx(25, abs=2)
    assert not drift.causes["white"].confident
    assert "one colour fills the picture" in drift.causes["white"].reason


def test_a_picture_far_from_middle_grey_makes_exposure_unsure() -> None:
    """Where nothing is near middle grey, exposure there is shown and not held against anyone."""
    dark = edited(photograph("chelsea"), lambda rgb: 0.02 + 0.06 * rgb)
    cause = columns(dark, dark, edited(dark, exposure(0.3)))[2].causes["exposure"]
    assert cause.value is not None
    assert not cause.confident
    assert "middle grey" in cause.reason


def test_fog_has_a_white_and_no_chroma() -> None:
    """Two pictures that are nearly grey, as fog is, have no chroma to compare, and a white that is read."""
    fog = edited(photograph("chelsea"), chroma(0.05))
    drift = columns(fog, fog, edited(fog, white(20)))[2]
    assert drift.causes["chroma"].reason == "too little colour to compare"
    assert drift.causes["white"].value == pytest.approx(20, abs=1)
    assert drift.causes["white"].verdict == "not judged"  # not asked to judge
    assert drift.causes["exposure"].value == pytest.approx(0, abs=0.03)


@pytest.mark.parametrize("name", NAMES)
def test_far_apart_whites_close_or_are_unsure(name: str) -> None:
    """Chroma of floor and edit adds up to the total within 0.05 (the plan's bound), or is marked as unsure.

    What is read of chroma depends on whether white was changed before or after it; from 120 mired on, where
    that costs more than the bound, it is not held against an edit.
    """
    plain = photograph(name)
    edit = edited(plain, chroma(0.8))
    seen = set()
    for mired in (-170, -100, 60, 150):
        columns_found = columns(edited(plain, white(mired)), plain, edit)
        for key in ("chroma", "hue"):
            floor, moved, total = (drift.causes[key] for drift in columns_found)
            assert moved.confident
            seen.add((abs(mired) > 120, floor.confident and total.confident))
            if floor.confident and total.confident and key == "chroma":
                assert total.value == pytest.approx(floor.value + moved.value, abs=0.05)
    assert seen == {(True, False), (False, True)}
