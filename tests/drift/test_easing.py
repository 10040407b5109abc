"""Softer recipes in numbers that a person would write."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from driftline.drift.easing import DECIMALS, easable, eased
from driftline.recipe import (
    Band,
    Chroma,
    Curve,
    Exposure,
    Grain,
    Mono,
    Recipe,
    White,
    field_specs,
    parameters,
)
from driftline.recipe.fields import generic_path, neutral_value
from recipe.strategies import recipes

LOOK = Recipe(
    exposure=Exposure(ev=0.37, anchor="metered"),
    white=White(shift=17.0, duv=0.0015),
    curve=Curve(slope=1.2),
    chroma=Chroma(scale=0.8, band={"brick": Band(hue=40.0, turn=7.0, lightness=-0.03)}),
    mono=Mono(filter="red"),
    grain=Grain(rms_granularity=9.0),
)


def test_every_number_that_can_be_eased_has_its_decimals() -> None:
    """No parameter with a number is forgotten, but for those that are places, switches, mono or grain."""
    left_alone = {"white.kelvin", "split.low.hue", "split.high.hue", "split.pivot", "split.spread"}
    left_alone |= {"chroma.band.*.hue", "chroma.band.*.width", "grain.rms_granularity", "grain.pitch_um"}
    assert (
        set(DECIMALS) == {path for path, spec in field_specs().items() if spec.low is not None} - left_alone
    )


def test_half_of_a_look() -> None:
    """Ratios by their root, the rest by half, rounded; mono, grain, anchor and the band's place stay."""
    half = eased(LOOK, 0.5)
    assert (half.exposure.ev, half.exposure.anchor) == (0.18, "metered")
    assert (half.white.shift, half.white.duv) == (8.0, 0.0008)  # 8.5 and 0.00075, to the even one
    assert (half.curve.slope, half.chroma.scale) == (1.1, 0.89)  # √1.2 = 1.095, √0.8 = 0.894
    brick = half.chroma.band["brick"]
    assert (brick.hue, brick.turn, brick.lightness) == (40.0, 4.0, -0.015)
    assert (half.mono, half.grain) == (LOOK.mono, LOOK.grain)


def test_only_some_sections() -> None:
    """What is not named stays as it is, to the last digit."""
    assert eased(LOOK, 0.5, ["curve"]) == LOOK.model_copy(update={"curve": Curve(slope=1.1)})


def test_what_can_be_eased() -> None:
    """Neither mono nor grain, nor a white in kelvin, nor where exposure starts."""
    assert easable(LOOK) == ("exposure", "white", "curve", "chroma")
    alone = Recipe(exposure=Exposure(anchor="metered"), white=White(kelvin=5200.0), mono=Mono())
    assert easable(alone) == ()


@given(recipes(), st.integers(0, 100))
def test_nothing_is_further_out_than_it_was(recipe: Recipe, hundredths: int) -> None:
    """Whatever the recipe: each number lies between its neutral value and what it was; words stay."""
    softer = eased(recipe, hundredths / 100)
    assert (softer.name, softer.about) == (recipe.name, recipe.about)
    after = parameters(softer)
    for path, old in parameters(recipe).items():
        if generic_path(path) in DECIMALS and isinstance(old, float):
            neutral = neutral_value(path)
            assert isinstance(neutral, float)
            assert min(old, neutral) - 1e-9 <= after[path] <= max(old, neutral) + 1e-9
        else:
            assert after.get(path, old) == old


def test_full_strength_is_the_recipe() -> None:
    """At 1 nothing is rounded."""
    fine = Recipe(exposure=Exposure(ev=0.33333))
    assert eased(fine, 1.0) == fine
    assert eased(fine, 0.999).exposure.ev == pytest.approx(0.33)
