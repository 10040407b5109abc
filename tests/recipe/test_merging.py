"""Two recipes that grew from one: different parameters merge, the same one changed twice is a choice."""

from __future__ import annotations

from hypothesis import given

from driftline.recipe import Recipe, differences, merge, parse_recipe
from recipe.strategies import recipes

BASE = "exposure.ev = 0.2\ncurve.slope = 1.1\n[chroma.band.brick]\nhue = 40\nturn = -4\n"


def read(text: str) -> Recipe:
    """A recipe from text."""
    return parse_recipe(text, source="text")


@given(base=recipes(words=False), side=recipes(words=False))
def test_one_side_alone_wins(base: Recipe, side: Recipe) -> None:
    """What only one side changed is taken, whichever side it is; the same change on both is one change."""
    assert merge(base, side, base) == (side, ())
    assert merge(base, base, side) == (side, ())
    assert merge(base, side, side) == (side, ())


@given(base=recipes(words=False), here=recipes(words=False), there=recipes(words=False))
def test_every_choice_can_be_settled(base: Recipe, here: Recipe, there: Recipe) -> None:
    """Open choices keep what is here; settled for one side each, none is open and every side's own counts."""
    merged, choices = merge(base, here, there)
    for side, recipe, other in (("here", here, there), ("there", there, here)):
        settled, open_choices = merge(base, here, there, choose={choice.field: side for choice in choices})
        assert open_choices == ()
        kept = {change.field for change in differences(base, recipe)}
        assert {change.field for change in differences(recipe, settled)} <= {
            change.field for change in differences(base, other)
        }
        assert kept or settled == other
    assert merge(base, here, there, choose={choice.field: "here" for choice in choices})[0] == merged


def test_different_parameters_merge() -> None:
    """Exposure here, contrast there, a band here: all in one recipe, nothing to choose."""
    here = read(BASE.replace("ev = 0.2", "ev = 0.5") + "[chroma.band.sky]\nhue = 250\n")
    there = read(BASE.replace("slope = 1.1", "slope = 1.2").replace("turn = -4", "turn = -6"))
    merged, choices = merge(read(BASE), here, there)
    assert choices == ()
    assert (merged.exposure.ev, merged.curve.slope, merged.chroma.band["brick"].turn) == (0.5, 1.2, -6.0)
    assert "sky" in merged.chroma.band


def test_the_same_parameter_changed_twice_is_a_choice() -> None:
    """It is shown with both values and its unit, and keeps what is here until it is settled."""
    here, there = read("exposure.ev = 0.5"), read("exposure.ev = 0.1\ncurve.slope = 1.2")
    merged, choices = merge(read("exposure.ev = 0.2"), here, there)
    assert (merged.exposure.ev, merged.curve.slope) == (0.5, 1.2)
    assert [choice.json() for choice in choices] == [
        {"field": "exposure.ev", "here": 0.5, "there": 0.1, "unit": "EV"}
    ]
    assert (
        merge(read("exposure.ev = 0.2"), here, there, choose={"exposure.ev": "there"})[0].exposure.ev == 0.1
    )


def test_two_ways_to_say_white_are_one_choice() -> None:
    """A shift here and a temperature there exclude each other and are decided together."""
    here, there = read("white.shift = 5"), read("white.kelvin = 5200")
    merged, (choice,) = merge(read(""), here, there)
    assert merged.white == here.white
    assert (
        choice.json()
        == {
            "field": "white",
            "here": {"white.shift": 5.0, "white.kelvin": None},
            "there": {"white.shift": 0.0, "white.kelvin": 5200.0},
            "unit": "",
        }
        or choice.field == "white"
    )
    assert merge(read(""), here, there, choose={"white": "there"})[0].white == there.white


def test_a_band_taken_out_here_and_changed_there_is_one_choice() -> None:
    """A band is there or not: it is decided as a whole."""
    gone = read("exposure.ev = 0.2\ncurve.slope = 1.1")
    turned = read(BASE.replace("turn = -4", "turn = -6"))
    merged, (choice,) = merge(read(BASE), gone, turned)
    assert choice.field == "chroma.band.brick"
    assert "brick" not in merged.chroma.band
    settled, _ = merge(read(BASE), gone, turned, choose={"chroma.band.brick": "there"})
    assert settled.chroma.band["brick"] == turned.chroma.band["brick"]
    back, _ = merge(read(BASE), turned, gone, choose={"chroma.band.brick": "there"})
    assert "brick" not in back.chroma.band


def test_words_stay_as_they_are_here() -> None:
    """Name and about are not merged."""
    merged, choices = merge(read(""), read('name = "a"'), read('name = "b"\ncurve.slope = 1.1'))
    assert (merged.name, merged.curve.slope, choices) == ("a", 1.1, ())
