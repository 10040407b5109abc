"""The name of a look."""

from __future__ import annotations

import hashlib

import pytest
from hypothesis import given

from driftline.recipe import NEUTRAL, Recipe, identity, parse_recipe, recipe_text
from recipe.strategies import recipes


def of(text: str) -> str:
    """The identity of the recipe that `text` says."""
    return identity(parse_recipe(text, source="text"))


def test_it_is_the_sha_256_of_what_is_not_neutral() -> None:
    """Anyone can compute it: sorted field paths and values as compact JSON (hashlib as the judge)."""
    assert identity(NEUTRAL) == hashlib.sha256(b"{}").hexdigest()
    expected = hashlib.sha256(b'{"curve.slope":1.2,"exposure.ev":0.5,"mono.filter":"red"}').hexdigest()
    assert of('mono.filter = "red"\n[exposure]\nev = 0.50\n[curve]\nslope = 12e-1') == expected


@given(recipe=recipes())
def test_words_and_spelling_do_not_count(recipe: Recipe) -> None:
    """The same look has the same name under any name, about, order and spelling."""
    bare = Recipe(**{**dict(recipe), "name": None, "about": ""})
    assert identity(bare) == identity(recipe) == of("# copied\n" + recipe_text(recipe))


@pytest.mark.parametrize(
    "text",
    [
        "curve.slope = 1.1",
        "[mono]",
        "chroma.band.a.hue = 0",
        "grain.pitch_um = 9",
        'exposure.anchor = "metered"',
    ],
)
def test_every_parameter_counts(text: str) -> None:
    """Switches and parameters that only matter beside others count too."""
    assert of(text) != identity(NEUTRAL)
