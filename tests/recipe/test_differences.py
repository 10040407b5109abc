"""Differences by field path, and putting them on."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given

from driftline.errors import RecipeError
from driftline.recipe import NEUTRAL, Change, Recipe, apply_changes, differences, identity, parse_recipe
from recipe.strategies import recipes


def read(text: str) -> Recipe:
    """A recipe from text."""
    return parse_recipe(text, source="text")


def told(before: str, after: str) -> list[dict[str, object]]:
    """The differences between two texts, as JSON."""
    return [change.json() for change in differences(read(before), read(after))]


@given(recipe=recipes())
def test_a_recipe_does_not_differ_from_itself(recipe: Recipe) -> None:
    """diff(a, a) is empty."""
    assert differences(recipe, recipe) == ()


@given(a=recipes(words=False), b=recipes(words=False))
def test_putting_the_differences_on_gives_the_other(a: Recipe, b: Recipe) -> None:
    """apply(a, diff(a, b)) == b, and backwards; only equal looks have none."""
    assert apply_changes(a, differences(a, b)) == b
    assert apply_changes(b, differences(b, a)) == a
    assert (differences(a, b) == ()) == (a == b) == (identity(a) == identity(b))


@given(a=recipes(words=False), b=recipes(words=False))
def test_the_way_back_is_the_way_turned_round(a: Recipe, b: Recipe) -> None:
    """diff(b, a) is diff(a, b) with before and after exchanged."""
    turned = tuple(Change(c.field, c.after, c.before, c.unit) for c in differences(a, b))
    assert differences(b, a) == turned


def test_values_units_and_the_order_of_the_format() -> None:
    """Each change names its field, both values and the unit, in the order of the format."""
    assert told("curve.slope = 1.1\nexposure.ev = 0.35", "curve.slope = 1.2\nexposure.ev = 0.5") == [
        {"field": "exposure.ev", "from": 0.35, "to": 0.5, "unit": "EV"},
        {"field": "curve.slope", "from": 1.1, "to": 1.2, "unit": ""},
    ]


def test_an_absent_section_is_its_neutral() -> None:
    """A section that says nothing new is no difference; a neutral value is what it changes to."""
    assert told("", "[curve]\nslope = 1.0\n[split]\nlow = { hue = 0, chroma = 0 }") == []
    assert told("grain.pitch_um = 12", "") == [
        {"field": "grain.pitch_um", "from": 12.0, "to": 8.0, "unit": "um"}
    ]


def test_a_band_comes_and_goes() -> None:
    """An absent band stands nowhere: its hue and width come from null, the rest from neutral."""
    band = "[chroma.band.brick]\nhue = 40\nturn = -4"
    assert told("", band) == [
        {"field": "chroma.band.brick.hue", "from": None, "to": 40.0, "unit": "deg"},
        {"field": "chroma.band.brick.width", "from": None, "to": 40.0, "unit": "deg"},
        {"field": "chroma.band.brick.turn", "from": 0.0, "to": -4.0, "unit": "deg"},
    ]
    assert [(c["from"], c["to"]) for c in told(band, "")] == [(40.0, None), (40.0, None), (-4.0, 0.0)]


def test_a_neutral_band_is_a_band() -> None:
    """A band that moves nothing yet is part of the recipe: saving it is saving something."""
    assert [change["field"] for change in told("", "chroma.band.sky.hue = 250")] == [
        "chroma.band.sky.hue",
        "chroma.band.sky.width",
    ]


def test_switches_go_to_and_from_null() -> None:
    """Colour is null; so is the one of two ways to say white or grey that is not used."""
    assert told("", "[mono]") == [{"field": "mono.filter", "from": None, "to": "none", "unit": ""}]
    assert told('mono.filter = "red"', "mono.weights = [0.3, 0.6, 0.1]") == [
        {"field": "mono.filter", "from": "red", "to": None, "unit": ""},
        {"field": "mono.weights", "from": None, "to": [0.3, 0.6, 0.1], "unit": ""},
    ]
    assert told("white.shift = 5", "white.kelvin = 5200") == [
        {"field": "white.shift", "from": 5.0, "to": 0.0, "unit": "mired"},
        {"field": "white.kelvin", "from": None, "to": 5200.0, "unit": "K"},
    ]


def test_words_are_no_change_of_the_look() -> None:
    """Name and about do not count, and stay on the recipe a change is put on."""
    assert told('name = "a"\nabout = "x"', 'name = "b"  # comment') == []
    changed = apply_changes(read('name = "a"\nabout = "x"'), [Change("curve.slope", 1.0, 1.2, "")])
    assert (changed.name, changed.about, changed.curve.slope) == ("a", "x", 1.2)


def test_taking_a_band_out_takes_all_of_it() -> None:
    """A change that removes the hue of a band removes the band, whatever else it says."""
    recipe = read("[chroma.band.brick]\nhue = 40\nturn = -4")
    assert apply_changes(recipe, [Change("chroma.band.brick.hue", 40.0, None, "deg")]) == NEUTRAL


@pytest.mark.parametrize(
    "change",
    [
        Change("curve.slope", 1.0, 9.0, ""),
        Change("chroma.band.brick.turn", 0.0, 3.0, "deg"),
        Change("mono.weights", None, (1.0, 1.0, 1.0), ""),
        Change("curve.slop", 1.0, 1.1, ""),
    ],
)
def test_a_change_that_makes_no_recipe_is_refused(change: Change) -> None:
    """Out of range, a band without a hue, unbalanced weights, no such field: a clear error."""
    with pytest.raises(RecipeError):
        apply_changes(NEUTRAL, [change])


def test_changes_of_several_recipes_can_be_put_on_one() -> None:
    """Only what a change leads to counts, so independent changes commute."""
    changes = [Change("exposure.ev", 9.0, 0.5, "EV"), Change("curve.toe", 0.3, -0.2, "")]
    results = {apply_changes(NEUTRAL, order) for order in itertools.permutations(changes)}
    assert len(results) == 1
