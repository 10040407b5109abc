"""Shares: what each section has in the drift of a recipe, and that all of it adds up."""

from __future__ import annotations

from copy import copy

import pytest

from drift.level import CHART, kept_frame, level_frame
from driftline.drift import Shares, bands_from, check_frame, shares
from driftline.drift.apportioning import keeping, sections_of
from driftline.recipe import (
    NEUTRAL,
    Chroma,
    Curve,
    Exposure,
    Finish,
    Mono,
    Recipe,
    Split,
    Tint,
    White,
)

LOOK = Recipe(
    exposure=Exposure(ev=0.4),
    white=White(shift=12.0),
    curve=Curve(slope=1.2, toe=0.1),
    chroma=Chroma(scale=1.15),
    split=Split(low=Tint(hue=250.0, chroma=0.01), high=Tint(hue=85.0, chroma=0.01)),
)
TWO = Recipe(exposure=Exposure(ev=-0.3), curve=Curve(slope=0.9))


@pytest.fixture(scope="module")
def look() -> Shares:
    """The shares of a look of five sections on the frame with the chart."""
    return shares(level_frame(CHART), LOOK)


def test_shares_and_interaction_add_up_to_the_total(look: Shares) -> None:
    """In every cause and in the distance; each share is the mean of taken in alone and left out."""
    assert look.sections == ("exposure", "white", "curve", "chroma", "split")
    for one in (look.distance, *look.causes.values()):
        assert list(one.parts) == list(look.sections)
        told = one.json()
        halves = [(part["alone"] + part["left_out"]) / 2 for part in told["sections"].values()]
        assert [part["share"] for part in told["sections"].values()] == pytest.approx(halves)
        assert sum(halves) + told["interaction"] == pytest.approx(told["total"], abs=1e-12)


def test_the_total_is_the_edit_column(look: Shares) -> None:
    """What is shared out is what a check of the whole recipe reads from plain to edit."""
    causes = check_frame(level_frame(CHART), LOOK).causes
    for key, one in look.causes.items():
        assert one.total == pytest.approx(causes[key].edit, abs=1e-5)  # float32
    assert look.aside.keys() >= {key for key, cause in causes.items() if not cause.comparable}


def test_alone_and_left_out_are_what_a_check_reads() -> None:
    """Alone is the edit column of that section by itself; left out is the total less that without it."""
    frame = level_frame(CHART)
    found = shares(frame, TWO).causes["contrast"]
    whole, alone, without = (
        check_frame(frame, one).causes["contrast"].edit or 0.0
        for one in (TWO, keeping(TWO, ["curve"]), keeping(TWO, ["exposure"]))
    )
    # A check compares where its own edit is clear of black and white; shares where the whole recipe is too.
    assert found.parts["curve"].alone == pytest.approx(alone, abs=0.01)
    assert found.parts["curve"].left_out == pytest.approx(whole - without, abs=0.01)


def test_the_distance_is_all_causes_over_their_notice_bands(look: Shares) -> None:
    """The root of the sum of squares, by hand; bands of one's own count."""
    bands = {"exposure": (0.1, 0.2)}
    found = shares(level_frame(CHART), keeping(LOOK, ["exposure"]), bands=bands)
    table = bands_from(bands)
    squares = [(one.total / table[key].limits(one.total)[0]) ** 2 for key, one in found.causes.items()]
    assert found.distance.total == pytest.approx(sum(squares) ** 0.5)
    assert found.distance.total >= found.causes["exposure"].total / 0.1


def test_one_section_has_all_of_it() -> None:
    """With one section its share is the total, and nothing is left over."""
    found = shares(level_frame(CHART), Recipe(curve=Curve(slope=1.3)))
    assert found.distance.parts["curve"].share == pytest.approx(found.distance.total)
    assert found.distance.interaction == pytest.approx(0, abs=1e-12)
    assert found.causes["contrast"].parts["curve"].share > 0.3


def test_two_sections_leave_nothing_over() -> None:
    """With two sections the two shares are the total: leaving one out is taking the other in alone."""
    found = shares(level_frame(CHART), TWO)
    for one in (found.distance, *found.causes.values()):
        assert one.interaction == pytest.approx(0, abs=1e-9)


def test_contrast_that_exposure_caused_is_exposures() -> None:
    """Brightened a lot, a picture reads less contrast at the standing curve; that is exposure's share."""
    found = shares(level_frame(CHART), Recipe(exposure=Exposure(ev=1.0), white=White(shift=6.0)))
    contrast = found.causes["contrast"]
    assert abs(contrast.total) > 0.05
    assert abs(contrast.parts["exposure"].share - contrast.total) < 0.1 * abs(contrast.total)


def test_a_section_that_brings_the_picture_back_has_a_negative_share() -> None:
    """Exposure up, and a curve that closes shadows and rolls highlights off: the curve takes some back."""
    found = shares(level_frame(CHART), Recipe(exposure=Exposure(ev=0.8), curve=Curve(toe=0.9, shoulder=0.9)))
    exposure = found.causes["exposure"]
    assert exposure.parts["exposure"].share > exposure.total > 0 > exposure.parts["curve"].share


def test_nothing_has_no_shares() -> None:
    """Of the neutral recipe nothing is shared out."""
    found = shares(level_frame(CHART), NEUTRAL)
    assert (found.sections, found.distance.total, dict(found.distance.parts)) == ((), 0.0, {})
    assert {one.total for one in found.causes.values()} == {0.0}


def test_mono_sets_colour_aside_and_keeps_tones() -> None:
    """Black and white: colour has no shares and it is said why; tones have."""
    found = shares(level_frame(CHART), Recipe(mono=Mono(filter="red"), curve=Curve(slope=1.4)))
    assert "black and white" in found.aside["chroma"]
    assert found.causes["contrast"].parts["curve"].share > 0.3
    assert max(found.distance.parts, key=lambda name: found.distance.parts[name].share) == "curve"


def test_a_frame_without_camera_rendering_has_shares() -> None:
    """Shares go from plain to edit, and need no camera rendering."""
    bare = copy(kept_frame(CHART))
    bare._rendering = None
    found = shares(bare, Recipe(exposure=Exposure(ev=0.5)))
    assert found.causes["exposure"].total > 0.3
    assert found.ranked() == {"exposure": pytest.approx(found.distance.total)}


def test_sections_and_keeping() -> None:
    """Sections are those that move something, in the order of the format; keeping leaves words alone."""
    recipe = Recipe(name="dusk", about="late", finish=Finish(acutance=0.3), exposure=Exposure(ev=0.1))
    assert sections_of(recipe) == ("exposure", "finish")
    assert keeping(recipe, ["finish"]) == Recipe(name="dusk", about="late", finish=Finish(acutance=0.3))
