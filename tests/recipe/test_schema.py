"""The JSON Schema that editors use says what the models say."""

from __future__ import annotations

import json
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from driftline.errors import RecipeError
from driftline.recipe import Recipe, field_specs, parse_recipe, recipe_schema, recipe_text
from recipe.strategies import recipes

jsonschema = pytest.importorskip("jsonschema", reason="the schema is checked by a validator from outside")


def accepts(document: dict[str, Any]) -> bool:
    """Whether a validator of JSON Schema 2020-12 takes `document`."""
    return bool(jsonschema.Draft202012Validator(recipe_schema()).is_valid(document))


def test_it_is_a_schema() -> None:
    """The validator's own metaschema takes it, and it survives JSON."""
    schema = recipe_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    assert json.loads(json.dumps(schema, allow_nan=False)) == schema
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["title"] == "driftline recipe, format 1"


@given(recipe=recipes())
def test_it_takes_every_recipe(recipe: Recipe) -> None:
    """What we write, the validator takes."""
    assert accepts(tomllib.loads(recipe_text(recipe)))


@pytest.mark.parametrize(
    "text",
    [
        "curve.slope = 9",
        "curve.slop = 1",
        'curve.slope = "1"',
        "curve.slope = true",
        "exposure.anchor = 'sun'",
        "white = { shift = 1, kelvin = 5000 }",
        "white.kelvin = 900",
        "mono = { filter = 'red', weights = [1, 0, 0] }",
        "mono.weights = [1, 0]",
        "mono.weights = [3, -1, -1]",
        "mono.filter = 'pink'",
        "chroma.band.a.turn = 1",
        "chroma.band.A.hue = 1",
        "split.low.hue = 400",
        "name = 'A b'",
        "format = 2",
        "look = 1",
    ],
)
def test_it_refuses_what_the_reader_refuses(text: str) -> None:
    """An editor marks what would be an error."""
    with pytest.raises(RecipeError):
        parse_recipe(text, source="text")
    assert not accepts(tomllib.loads(text))


@given(data=st.data())
def test_both_judge_a_number_alike(data: st.DataObject) -> None:
    """For any number in any field, the validator and the reader agree."""
    specs = [spec for spec in field_specs().values() if spec.low is not None]
    path = data.draw(st.sampled_from(specs)).path.replace("*", "brick")
    number = data.draw(st.floats(-200, 400) | st.integers(-10, 30000) | st.floats(-1, 2))
    text = f"{path} = {number!r}\n" + (
        "chroma.band.brick.hue = 3\n" if path.endswith(("turn", "width")) else ""
    )
    try:
        parse_recipe(text, source="text")
        read = True
    except RecipeError:
        read = False
    assert accepts(tomllib.loads(text)) == read


def test_every_field_tells_its_unit_and_meaning() -> None:
    """An editor can show unit and meaning of every parameter; nothing of the code shows through."""
    schema = recipe_schema()
    for definition in schema["$defs"].values():
        for field in definition["properties"].values():
            assert field["description"].rstrip().endswith(".")
            assert "unit" in field or "$ref" in field or "patternProperties" in field
    assert ">>>" not in json.dumps(schema)
