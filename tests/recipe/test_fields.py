"""Field paths: every parameter has a unit, a range, a neutral value and a sentence that says what it does."""

from __future__ import annotations

import pytest
from hypothesis import given

from driftline.errors import RecipeError
from driftline.recipe import (
    FILTER_NAMES,
    NEUTRAL,
    Recipe,
    field_spec,
    field_specs,
    from_parameters,
    parameters,
)
from driftline.recipe.fields import generic_path, neutral_value
from recipe.strategies import recipes

FORMAT_1 = [
    *("exposure.ev", "exposure.anchor", "white.shift", "white.kelvin", "white.duv"),
    *("curve.slope", "curve.toe", "curve.shoulder", "chroma.scale"),
    *("chroma.band.*.hue", "chroma.band.*.width", "chroma.band.*.turn"),
    *("chroma.band.*.scale", "chroma.band.*.lightness"),
    *("split.low.hue", "split.low.chroma", "split.high.hue", "split.high.chroma"),
    *("split.pivot", "split.spread", "mono.filter", "mono.weights", "noise.chroma"),
    *("grain.rms_granularity", "grain.pitch_um", "finish.acutance"),
]


def test_the_parameters_of_format_1() -> None:
    """Format 1 has these 26 parameters, in this order (a change of format raises its number)."""
    assert list(field_specs()) == FORMAT_1


@pytest.mark.parametrize("path", FORMAT_1)
def test_every_parameter_is_described(path: str) -> None:
    """A sentence with its full stop; a range or choices or a triple; neutral within the range."""
    spec = field_specs()[path]
    assert spec.means.endswith(".")
    assert spec.choices or spec.path == "mono.weights" or (spec.low is not None and spec.high is not None)
    if isinstance(spec.neutral, float) and spec.low is not None and spec.high is not None:
        assert spec.low <= spec.neutral <= spec.high


@pytest.mark.parametrize("path", [path for path in FORMAT_1 if field_specs()[path].low is not None])
def test_the_ends_of_a_range_are_allowed_and_no_more(path: str) -> None:
    """What the table says of a range is what the models take."""
    spec = field_specs()[path]
    assert spec.low is not None
    assert spec.high is not None
    band = path.replace("*", "brick")
    whole = {"chroma.band.brick.hue": 40.0} if "*" in path else {}
    for value in (float(spec.low), float(spec.high)):
        assert parameters(from_parameters(whole | {band: value}))[band] == value
    beyond = (spec.high - spec.low) * 1e-6
    for value in (spec.low - beyond, spec.high + beyond):
        with pytest.raises(RecipeError, match=r"allowed .* to "):
            from_parameters(whole | {band: value})


def test_the_neutral_recipe_is_neutral_in_every_parameter() -> None:
    """The table's neutral values are those of the empty recipe."""
    assert parameters(NEUTRAL) == {path: neutral_value(path) for path in FORMAT_1 if "*" not in path}


@given(recipe=recipes())
def test_a_recipe_is_its_parameters_and_words(recipe: Recipe) -> None:
    """Nothing is lost between a recipe and its field paths."""
    assert from_parameters(parameters(recipe), name=recipe.name, about=recipe.about) == recipe


def test_choices_are_those_of_the_models() -> None:
    """Where a parameter is a word, the table lists the words."""
    assert field_spec("exposure.anchor").choices == ("camera", "metered")
    assert field_spec("mono.filter").choices == FILTER_NAMES


def test_bands_share_their_description() -> None:
    """The path of a named band leads to what is known of every band; other stars do not."""
    assert field_spec("chroma.band.brick.turn") is field_specs()["chroma.band.*.turn"]
    assert generic_path("split.low.hue") == "split.low.hue"


@pytest.mark.parametrize("path", ["slope", "curve", "curve.slop", "name", "chroma.band.brick", ""])
def test_an_unknown_path_is_refused(path: str) -> None:
    """A path that names no parameter is an error that says so."""
    with pytest.raises(RecipeError) as caught:
        field_spec(path)
    assert caught.value.code == "recipe-unknown-field"
