"""Reading: a recipe or a RecipeError, from text and from files."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path

import pytest
from hypothesis import given

from driftline.errors import RecipeError
from driftline.recipe import NEUTRAL, Recipe, parse_recipe, read_recipe, recipe_text
from recipe.strategies import recipes

DESIGN_EXAMPLE = """
format = 1
name = "tram-fog"
about = "soft toe and cold shadows for wet grey mornings"

[exposure]
ev = 0.35              # on top of plain
anchor = "camera"

[white]
shift = 12.0
duv = 0.002

[curve]
slope = 1.15
toe = -0.20
shoulder = 0.30

[chroma]
scale = 0.92
[chroma.band.brick]
hue = 40.0
width = 35.0
turn = -4.0
scale = 1.10
lightness = 0.02

[split]
low  = { hue = 250.0, chroma = 0.018 }
high = { hue = 85.0,  chroma = 0.012 }
pivot = 0.50
spread = 0.25

[mono]
filter = "yellow"

[noise]
chroma = 0.0

[grain]
rms_granularity = 0.0
pitch_um = 8.0

[finish]
acutance = 0.0
"""


def test_a_whole_recipe_is_read() -> None:
    """Every field of a recipe that uses the whole format ends where its path says."""
    recipe = parse_recipe(DESIGN_EXAMPLE, source="example")
    assert recipe.name == "tram-fog"
    assert (recipe.exposure.ev, recipe.white.shift, recipe.white.duv) == (0.35, 12.0, 0.002)
    assert (recipe.curve.slope, recipe.curve.toe, recipe.curve.shoulder) == (1.15, -0.2, 0.3)
    assert recipe.chroma.band["brick"].model_dump() == {
        "hue": 40.0,
        "width": 35.0,
        "turn": -4.0,
        "scale": 1.1,
        "lightness": 0.02,
    }
    assert (recipe.split.low.hue, recipe.split.high.chroma, recipe.split.pivot) == (250.0, 0.012, 0.5)
    assert recipe.mono is not None
    assert recipe.mono.filter == "yellow"


@pytest.mark.parametrize("text", ["", "\n", "# nothing yet", "format = 1", "[curve]", "exposure = {}"])
def test_a_text_that_says_nothing_is_neutral(text: str) -> None:
    """An empty recipe, or one of empty sections, is neutral."""
    assert parse_recipe(text, source="empty") == NEUTRAL


@pytest.mark.parametrize(
    "text",
    [
        "[split]\nlow = { hue = 250, chroma = 0.01 }",
        "[split.low]\nhue = 250\nchroma = 0.01",
        "split.low.hue = 250\nsplit.low.chroma = 0.01",
        "split = { low = { chroma = 1e-2, hue = 2.5e2 } }",
        "[split]\r\nlow.hue = 250.0\r\nlow.chroma = 0.010\r\n",
    ],
)
def test_every_spelling_of_toml_is_one_recipe(text: str) -> None:
    """Tables, dotted keys, inline tables and line ends of any system say the same."""
    recipe = parse_recipe(text, source="spelling")
    assert (recipe.split.low.hue, recipe.split.low.chroma) == (250.0, 0.01)


@given(recipe=recipes())
def test_reading_undoes_writing(recipe: Recipe) -> None:
    """read(write(r)) == r, and the standard library's parser finds every value where its path says."""
    text = recipe_text(recipe)
    assert parse_recipe(text, source="written") == recipe
    document = tomllib.loads(text)
    assert document.get("about", "") == recipe.about
    assert document.get("curve", {}).get("slope", 1.0) == recipe.curve.slope
    assert {*document.get("chroma", {}).get("band", {})} == {*recipe.chroma.band}


def test_a_nameless_recipe_takes_the_stem_of_its_file(tmp_path: Path) -> None:
    """`name` may be absent: the file's stem stands in, unless it is no recipe name."""
    for stem, name in (("wet-stones", "wet-stones"), ("My Look", None)):
        path = tmp_path / f"{stem}.toml"
        path.write_text("[curve]\nslope = 1.1\n")
        assert read_recipe(path).name == name
        assert read_recipe(str(path)).curve.slope == 1.1


def test_a_name_in_the_file_counts(tmp_path: Path) -> None:
    """Outside a ledger the file's own name does not matter."""
    path = tmp_path / "copy.toml"
    path.write_text('name = "tram-fog"')
    assert read_recipe(path).name == "tram-fog"


def code_of(path: Path) -> str:
    """The code of the error that reading `path` gives."""
    with pytest.raises(RecipeError) as caught:
        read_recipe(path)
    assert str(path) in caught.value.message
    assert caught.value.hint
    return caught.value.code


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    """A missing file, a folder, a pipe and a path that is none each give a clear error."""
    assert code_of(tmp_path / "none.toml") == "recipe-missing"
    assert code_of(tmp_path) == "recipe-unreadable"
    os.mkfifo(tmp_path / "pipe.toml")
    assert code_of(tmp_path / "pipe.toml") == "recipe-unreadable"  # and does not wait for a writer
    assert code_of(tmp_path / ("x" * 300)) == "recipe-unreadable"
    assert code_of(tmp_path / "a\0b.toml") == "recipe-unreadable"


def test_large_files_are_refused_unread(tmp_path: Path) -> None:
    """64 KB are read, one byte more is refused, in bytes and not in letters."""
    path = tmp_path / "long.toml"
    path.write_text("#" * (64 * 1024))
    assert read_recipe(path).curve.slope == 1.0
    path.write_text("#" * (64 * 1024 + 1))
    assert code_of(path) == "recipe-too-large"
    path.write_text("#" + "é" * (32 * 1024), encoding="utf-8")
    assert code_of(path) == "recipe-too-large"
    with pytest.raises(RecipeError, match="64 KB"):
        parse_recipe("#" + "é" * (32 * 1024), source="text")


def test_text_that_is_not_utf_8_is_refused(tmp_path: Path) -> None:
    """Bytes of another encoding and a byte-order mark are named, with the line."""
    path = tmp_path / "old.toml"
    path.write_bytes(b'name = "dusk"\nabout = "caf\xe9"\n')
    assert code_of(path) == "recipe-encoding"
    with pytest.raises(RecipeError, match="line 2: byte 0xe9"):
        read_recipe(path)
    path.write_bytes(b"\xef\xbb\xbfformat = 1\n")
    assert code_of(path) == "recipe-encoding"
    path.write_bytes("format = 1\n".encode("utf-16"))
    assert code_of(path) == "recipe-encoding"
