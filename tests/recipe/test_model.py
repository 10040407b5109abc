"""The models of format 1: neutral when empty, frozen in depth, strict at the door."""

from __future__ import annotations

import copy
import pickle

import pytest
from hypothesis import given
from pydantic import ValidationError

from driftline.recipe import NEUTRAL, Band, Chroma, Curve, Exposure, Mono, Recipe, White
from recipe.strategies import recipes


def test_an_empty_recipe_is_neutral() -> None:
    """A recipe without any section equals one with every section at its defaults."""
    assert Recipe() == NEUTRAL == Recipe(exposure=Exposure(ev=0, anchor="camera"), curve=Curve(slope=1))
    assert NEUTRAL.mono is None
    assert dict(NEUTRAL.chroma.band) == {}


@given(recipe=recipes())
def test_equal_recipes_hash_alike_and_survive_copying(recipe: Recipe) -> None:
    """A recipe can be hashed, pickled (for worker processes) and copied, and stays the same recipe."""
    for twin in (pickle.loads(pickle.dumps(recipe)), copy.deepcopy(recipe), Recipe(**dict(recipe))):
        assert twin == recipe
        assert hash(twin) == hash(recipe)


def test_the_order_of_bands_is_no_difference() -> None:
    """Bands are a mapping: the same bands in another order are the same recipe."""
    brick, sky = Band(hue=40), Band(hue=250)
    one = Chroma(band={"brick": brick, "sky": sky})
    other = Chroma(band={"sky": sky, "brick": brick})
    assert one == other
    assert hash(one) == hash(other)


def test_nothing_in_a_recipe_can_be_changed() -> None:
    """Fields and bands refuse assignment, and a mapping given in is not the one held."""
    bands = {"brick": Band(hue=40)}
    recipe = Recipe(chroma=Chroma(band=bands))
    bands["sky"] = Band(hue=250)
    assert set(recipe.chroma.band) == {"brick"}
    with pytest.raises(ValidationError, match="frozen"):
        recipe.exposure = Exposure(ev=1)  # type: ignore[misc]
    with pytest.raises(ValidationError, match="frozen"):
        recipe.curve.slope = 1.1  # type: ignore[misc]
    with pytest.raises(TypeError):
        recipe.chroma.band["sky"] = Band(hue=250)  # type: ignore[index]


def test_a_whole_number_is_a_number_and_a_boolean_is_not() -> None:
    """An int is taken for a float and becomes one; true, text and None are refused."""
    slope = Curve(slope=1).slope
    assert slope == 1.0
    assert type(slope) is float
    for wrong in (True, "1.0", None):
        with pytest.raises(ValidationError):
            Curve(slope=wrong)  # type: ignore[arg-type]


@pytest.mark.parametrize("wrong", [float("nan"), float("inf"), -float("inf"), 2.0001, 0.4999])
def test_numbers_are_finite_and_in_range(wrong: float) -> None:
    """Neither nan nor infinities nor values beyond the range are taken; the ends are."""
    assert (Curve(slope=0.5).slope, Curve(slope=2).slope) == (0.5, 2.0)
    with pytest.raises(ValidationError):
        Curve(slope=wrong)


def test_minus_zero_is_zero() -> None:
    """-0.0 becomes 0.0, so that equal recipes have equal text."""
    assert str(Exposure(ev=-0.0).ev) == "0.0"


def test_white_is_said_in_one_way() -> None:
    """Shift and kelvin exclude each other, even a shift of 0."""
    assert White(kelvin=5200).shift == 0.0
    with pytest.raises(ValidationError, match="two ways"):
        White(kelvin=5200, shift=0)


def test_black_and_white_is_said_in_one_way() -> None:
    """Filter and weights exclude each other; neither of them is the bare film."""
    assert Mono().filter == "none"
    assert Mono(weights=(0.3, 0.6, 0.1)).filter is None
    with pytest.raises(ValidationError, match="two ways"):
        Mono(filter="red", weights=(0.3, 0.6, 0.1))


@pytest.mark.parametrize("weights", [(0.33, 0.33, 0.33), (0.34, 0.33, 0.34), (1.4, -0.2, -0.2)])
def test_weights_may_miss_one_by_rounding(weights: tuple[float, float, float]) -> None:
    """Three weights typed with two decimals are taken, negative ones too."""
    mono = Mono(weights=weights)
    assert mono.weights == weights
    assert mono.balanced_weights is not None
    assert sum(mono.balanced_weights) == pytest.approx(1, abs=1e-12)


@pytest.mark.parametrize("weights", [(0.3, 0.3, 0.3), (1, 1, 1), (0, 0, 0)])
def test_weights_that_would_change_grey_are_refused(weights: tuple[float, float, float]) -> None:
    """Weights must sum to 1, or grey would not stay grey."""
    with pytest.raises(ValidationError, match="sum to"):
        Mono(weights=weights)
