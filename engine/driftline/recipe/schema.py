"""The JSON Schema of the recipe, for editors that complete and check TOML."""

from __future__ import annotations

from typing import Any

from driftline.recipe.model import Recipe

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def recipe_schema() -> dict[str, Any]:
    """The schema of format 1: every field with unit, range, neutral value and what it does to the picture.

    Examples
    --------
    >>> recipe_schema()["$defs"]["Curve"]["properties"]["slope"]["maximum"]
    2.0
    """
    schema = _for_toml(Recipe.model_json_schema())
    _exclude_both(schema["$defs"]["White"], "shift", "kelvin")
    _exclude_both(schema["$defs"]["Mono"], "filter", "weights")
    return {"$schema": DIALECT, **schema, "title": "driftline recipe, format 1"}


def _for_toml(part: Any) -> Any:
    """Without null, which TOML has not: a field that may be absent is simply absent."""
    if isinstance(part, list):
        return [_for_toml(item) for item in part]
    if not isinstance(part, dict):
        return part
    part = {key: _for_toml(item) for key, item in part.items() if not (key == "default" and item is None)}
    if isinstance(part.get("description"), str):
        part["description"] = part["description"].partition("\n\n")[0]  # without the examples of a docstring
    if "patternProperties" in part:  # other names are errors, not unchecked
        part["additionalProperties"] = False
    options = part.get("anyOf")
    if isinstance(options, list) and {"type": "null"} in options:
        (option,) = [option for option in options if option != {"type": "null"}]
        part = {key: item for key, item in part.items() if key != "anyOf"} | option
    return part


def _exclude_both(definition: dict[str, Any], one: str, other: str) -> None:
    definition["not"] = {"required": [one, other]}
