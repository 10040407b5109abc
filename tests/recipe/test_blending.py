"""Between two recipes: the ends are exact, each kind of number mixes in its own way."""

from __future__ import annotations

import cmath
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from driftline.errors import UsageError
from driftline.recipe import NEUTRAL, Recipe, blend, field_spec, parameters, parse_recipe, scaled
from recipe.strategies import recipes

WEIGHTS = st.floats(0.001, 0.999)


def read(text: str) -> Recipe:
    """A recipe from text."""
    return parse_recipe(text, source="text")


def between(a: str, b: str, weight: float = 0.5) -> Recipe:
    """The blend of two texts, without its notes."""
    return blend(read(a), read(b), weight)[0]


def notes(a: str, b: str, weight: float = 0.5) -> tuple[str, ...]:
    """The notes of the blend of two texts."""
    return blend(read(a), read(b), weight)[1]


@given(a=recipes(), b=recipes())
def test_the_ends_are_the_recipes_themselves(a: Recipe, b: Recipe) -> None:
    """Weight 0 gives a and 1 gives b, name and about included, and nothing to note."""
    assert blend(a, b, 0) == (a, ())
    assert blend(a, b, 1) == (b, ())


@given(a=recipes(words=False), weight=WEIGHTS)
def test_a_recipe_blends_with_itself_to_itself(a: Recipe, weight: float) -> None:
    """Nothing differs, so nothing moves and nothing is noted."""
    assert blend(a, a, weight) == (a, ())


@given(a=recipes(words=False), b=recipes(words=False), weight=WEIGHTS)
def test_every_number_lies_between_its_ends(a: Recipe, b: Recipe, weight: float) -> None:
    """Any blend is a valid recipe; numbers that are no hues stay between those of the two sides."""
    mixed = parameters(blend(a, b, weight)[0])
    old, new = parameters(a), parameters(b)
    for path in old.keys() & new.keys():
        ends = old[path], new[path]
        value = mixed[path]
        if path.endswith(".hue") or path.startswith(("split.", "grain.", "white.", "mono.")):
            continue
        if isinstance(value, float) and isinstance(ends[0], float) and isinstance(ends[1], float):
            assert min(ends) - 1e-2 * spread(path) <= value <= max(ends) + max(0.05, 1e-2 * spread(path))


def spread(path: str) -> float:
    """The width of a parameter's range."""
    spec = field_spec(path)
    assert spec.low is not None
    assert spec.high is not None
    return spec.high - spec.low


@given(
    a=recipes(words=False),
    b=recipes(words=False),
    weight=WEIGHTS.filter(lambda weight: abs(weight - 0.5) > 0.01),
)
def test_the_sides_can_be_exchanged(a: Recipe, b: Recipe, weight: float) -> None:
    """blend(a, b, w) is blend(b, a, 1 - w), within the rounding of what is written."""
    one, other = parameters(blend(a, b, weight)[0]), parameters(blend(b, a, 1 - weight)[0])
    assert one.keys() == other.keys()
    for path, value in one.items():
        if isinstance(value, float) and not path.endswith(".hue"):
            assert value == pytest.approx(other[path], abs=2e-4 * spread(path))
        elif not isinstance(value, float | tuple):
            assert value == other[path]


def test_linear_numbers() -> None:
    """Exposure, mired, toe, lightness: a third of the way is a third of the way."""
    mixed = between("exposure.ev = 0.3\nwhite.shift = 12", "exposure.ev = 0.9\nwhite.shift = -6", 1 / 3)
    assert mixed.exposure.ev == pytest.approx(0.5)
    assert mixed.white.shift == pytest.approx(6.0)


def test_ratios_mix_in_log() -> None:
    """Halfway between half and double is 1, for slope and for scales; a scale of 0 stays finite."""
    assert between("curve.slope = 0.5", "curve.slope = 2.0").curve.slope == 1.0
    assert between("chroma.scale = 0.8", "chroma.scale = 1.25").chroma.scale == 1.0
    assert 0 < between("chroma.scale = 0", "").chroma.scale < 0.5


def test_temperatures_mix_in_mired() -> None:
    """Halfway between 4000 K (250 mired) and 6667 K (150 mired) is 5000 K (200 mired)."""
    assert between("white.kelvin = 4000", "white.kelvin = 6666.67").white.kelvin == 5000.0


def test_tints_mix_as_oklab_a_and_b() -> None:
    """Two tints meet where their colours do (complex numbers as the judge); a tint and none keeps its hue."""
    low = between(
        "split.low = { hue = 250, chroma = 0.02 }", "split.low = { hue = 85, chroma = 0.012 }", 0.25
    ).split.low
    expected = 0.75 * cmath.rect(0.02, math.radians(250)) + 0.25 * cmath.rect(0.012, math.radians(85))
    assert cmath.rect(low.chroma, math.radians(low.hue)) == pytest.approx(expected, abs=2e-5)
    one_sided = between("split.low = { hue = 250, chroma = 0.02 }", "").split.low
    assert (one_sided.hue, one_sided.chroma) == (250.0, 0.01)


def test_opposite_tints_cancel() -> None:
    """Halfway between equal tints of opposite hue there is no tint."""
    assert (
        between(
            "split.low = { hue = 10, chroma = 0.02 }", "split.low = { hue = 190, chroma = 0.02 }"
        ).split.low.chroma
        == 0
    )


def test_hues_take_the_short_way_round() -> None:
    """Halfway between 350° and 10° is 0°, not 180°."""
    hue = between("chroma.band.red.hue = 350", "chroma.band.red.hue = 10").chroma.band["red"].hue
    assert hue % 360 == pytest.approx(0, abs=0.01)


def test_bands_are_joined_by_name() -> None:
    """A band of one side meets the neutral band in its own place; both sides' bands are in the blend."""
    bands = between(
        "[chroma.band.a]\nhue = 40\nturn = -4\nscale = 1.21", "[chroma.band.b]\nhue = 250\nwidth = 60"
    ).chroma.band
    assert set(bands) == {"a", "b"}
    assert (bands["a"].hue, bands["a"].width, bands["a"].turn, bands["a"].scale) == (40.0, 40.0, -2.0, 1.1)
    assert (bands["b"].hue, bands["b"].width) == (250.0, 60.0)


def test_bands_that_stand_far_apart_are_noted() -> None:
    """One name at two ends of the hue circle is mixed as asked, and said."""
    assert notes("chroma.band.a.hue = 40", "chroma.band.a.hue = 140") == (
        "band a stands at 40° and at 140°; the blend has it at 90°",
    )
    assert notes("chroma.band.a.hue = 40", "chroma.band.a.hue = 60") == ()


def test_what_one_side_does_not_use_is_the_others() -> None:
    """The pivot of a split without tints and the pitch of no grain have no say."""
    split = "[split]\nlow = { hue = 250, chroma = 0.02 }\npivot = 0.6\n"
    mixed = between(split, "grain = { rms_granularity = 8, pitch_um = 12 }")
    assert (mixed.split.pivot, mixed.split.low.chroma) == (0.6, 0.01)
    assert (mixed.grain.rms_granularity, mixed.grain.pitch_um) == (4.0, 12.0)


@pytest.mark.parametrize(
    ("a", "b", "path"),
    [
        ('mono.filter = "red"', "", "mono.filter"),
        ('mono.filter = "red"', 'mono.filter = "blue"', "mono.filter"),
        ('exposure.anchor = "metered"', "", "exposure.anchor"),
        ("white.kelvin = 5200", "white.shift = 8", "white.kelvin"),
    ],
)
def test_switches_are_the_heavier_sides_and_it_is_said(a: str, b: str, path: str) -> None:
    """A switch does not mix: below a half it is the first side's, above the second's."""
    for weight, side, name in ((0.3, a, "the first"), (0.7, b, "the second")):
        assert parameters(between(a, b, weight))[path] == parameters(read(side))[path]
        (note,) = notes(a, b, weight)
        assert note.startswith(path.partition(".")[0])
        assert f"from {name}, the heavier side" in note


def test_weights_of_grey_mix() -> None:
    """Two sets of weights mix linearly and still sum to 1."""
    mono = between("mono.weights = [0.6, 0.4, 0.0]", "mono.weights = [0.2, 0.4, 0.4]").mono
    assert mono is not None
    assert mono.weights == (0.4, 0.4, 0.2)


def test_numbers_of_a_blend_are_fit_to_read() -> None:
    """Mixed numbers have no more decimals than a ten-thousandth of their range."""
    mixed = between("exposure.ev = 0.1\ncurve.slope = 1.1", "exposure.ev = 0.2\ncurve.slope = 1.3", 1 / 3)
    assert (mixed.exposure.ev, mixed.curve.slope) == (0.133, 1.163)


@pytest.mark.parametrize("weight", [-0.1, 1.1, float("nan")])
def test_weights_outside_are_refused(weight: float) -> None:
    """A blend lies between its ends."""
    with pytest.raises(UsageError, match="allowed 0 to 1"):
        blend(NEUTRAL, NEUTRAL, weight)


@given(recipe=recipes())
def test_full_strength_is_the_recipe(recipe: Recipe) -> None:
    """Strength 1 is the recipe itself."""
    assert scaled(recipe, 1) == recipe


@given(recipe=recipes(), strength=st.floats(0, 3))
def test_scaling_leaves_mono_grain_and_anchor_alone(recipe: Recipe, strength: float) -> None:
    """Any strength gives a valid recipe with the same switches, grain, words and places of bands."""
    result = scaled(recipe, strength)
    assert (result.mono, result.grain, result.exposure.anchor) == (
        recipe.mono,
        recipe.grain,
        recipe.exposure.anchor,
    )
    assert (result.name, result.about) == (recipe.name, recipe.about)
    assert {name: band.hue for name, band in result.chroma.band.items()} == {
        name: band.hue for name, band in recipe.chroma.band.items()
    }


@given(recipe=recipes())
def test_no_strength_is_neutral_but_for_what_stays(recipe: Recipe) -> None:
    """At strength 0 the curve, chroma, tints, exposure, noise and acutance are neutral."""
    none = scaled(recipe, 0)
    assert (none.curve, none.noise, none.finish) == (NEUTRAL.curve, NEUTRAL.noise, NEUTRAL.finish)
    assert (none.exposure.ev, none.chroma.scale) == (0.0, 1.0)
    assert none.split.low.chroma == none.split.high.chroma == 0.0
    assert all((b.turn, b.scale, b.lightness) == (0.0, 1.0, 0.0) for b in none.chroma.band.values())


def test_strengths() -> None:
    """Half and double: ratios by powers, the rest by multiples, up to the ends of the ranges."""
    recipe = read(
        "exposure.ev = 0.4\ncurve.slope = 1.21\nsplit.low = { hue = 250, chroma = 0.06 }\nwhite.shift = 8"
    )
    half, double = scaled(recipe, 0.5), scaled(recipe, 2)
    assert (half.exposure.ev, half.curve.slope, half.split.low.chroma, half.white.shift) == (
        0.2,
        1.1,
        0.03,
        4.0,
    )
    assert (double.exposure.ev, double.curve.slope) == (0.8, 1.4641)
    assert double.split.low.chroma == 0.1
    assert half.split.low.hue == 250.0


def test_a_white_in_kelvin_is_no_distance_from_neutral() -> None:
    """An absolute white stays as it is, its duv too."""
    recipe = read("white = { kelvin = 5200, duv = 0.004 }\nexposure.ev = 0.4")
    assert scaled(recipe, 0.5).white == recipe.white


def test_only_some_sections_are_scaled() -> None:
    """The others stay exactly as they are."""
    recipe = read("exposure.ev = 0.4\ncurve.slope = 1.21\nchroma.scale = 1.21")
    softer = scaled(recipe, 0.5, only={"curve"})
    assert (softer.exposure.ev, softer.curve.slope, softer.chroma.scale) == (0.4, 1.1, 1.21)


@pytest.mark.parametrize("strength", [-0.1, 3.1, float("nan")])
def test_strengths_outside_are_refused(strength: float) -> None:
    """0 to 3 is what a look can be scaled by."""
    with pytest.raises(UsageError, match="allowed 0 to 3"):
        scaled(NEUTRAL, strength)
