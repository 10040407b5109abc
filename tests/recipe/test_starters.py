"""The starter recipes: distinct looks, each saying for what light, all moderate."""

from __future__ import annotations

import math
from itertools import combinations
from pathlib import Path

import pytest

from driftline.recipe import Recipe, identity, parameters, parse_recipe, read_recipe, recipe_text

FOLDER = Path(__file__).resolve().parents[2] / "recipes"
PATHS = sorted(FOLDER.glob("*"))


def starters() -> list[Recipe]:
    """Every starter recipe."""
    return [read_recipe(path) for path in PATHS]


def test_there_are_enough_and_nothing_else() -> None:
    """At least six looks, and no other kind of file beside them."""
    assert len(PATHS) >= 6
    assert {path.suffix for path in PATHS} == {".toml"}


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_each_is_a_whole_recipe(path: Path) -> None:
    """Format and name are written, the name is the file's, about says enough, every band does something."""
    text = path.read_text(encoding="utf-8")
    recipe = read_recipe(path)
    assert text.startswith("format = 1\n")
    assert recipe.name == path.stem
    assert 60 <= len(recipe.about) <= 240
    assert recipe.about.endswith(".")
    for band in recipe.chroma.band.values():
        assert (band.turn, band.scale, band.lightness) != (0.0, 1.0, 0.0)


@pytest.mark.parametrize("path", PATHS, ids=lambda path: path.stem)
def test_each_round_trips(path: Path) -> None:
    """Canonical text says the same look, and rewriting the file with itself touches nothing."""
    text = path.read_text(encoding="utf-8")
    recipe = parse_recipe(text, source=path.name)
    assert parse_recipe(recipe_text(recipe), source="canonical") == recipe
    assert recipe_text(recipe, base=text) == text


def test_they_are_distinct() -> None:
    """No two are one look, and any two differ in at least four parameters."""
    recipes = starters()
    assert len({identity(recipe) for recipe in recipes}) == len(recipes)
    for a, b in combinations(recipes, 2):
        ours, theirs = parameters(a).items(), parameters(b).items()
        assert len({path for path, _ in ours ^ theirs}) >= 4, f"{a.name} and {b.name}"


def test_colour_black_and_white_and_split_tones_are_all_there() -> None:
    """Among them are a contrast filter, a bare black and white, a split in colour, and one against noise."""
    recipes = starters()
    filters = {recipe.mono.filter for recipe in recipes if recipe.mono}
    assert "none" in filters
    assert len(filters) >= 2
    assert any(
        recipe.mono is None and recipe.split.low.chroma and recipe.split.high.chroma for recipe in recipes
    )
    assert any(recipe.noise.chroma for recipe in recipes)


@pytest.mark.parametrize("recipe", starters(), ids=lambda recipe: recipe.name)
def test_each_is_moderate(recipe: Recipe) -> None:
    """As written, none goes past where a change is noticed by much: a start, not an effect.

    The bounds are the notice bands of drift for exposure, contrast, white and chroma; what a picture reads
    is measured elsewhere.
    """
    assert abs(recipe.exposure.ev) <= 0.17
    assert abs(math.log2(recipe.curve.slope)) <= 0.21
    assert abs(recipe.white.shift) <= 18
    assert abs(math.log2(recipe.chroma.scale)) <= 0.25
