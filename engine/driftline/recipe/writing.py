"""A recipe as text: canonical, or an existing text rewritten where it differs and nowhere else."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from typing import Any

from driftline.recipe.fields import Value, nested, neutral_value, parameters
from driftline.recipe.model import Recipe

INLINE = frozenset({"split.low", "split.high"})
"""Tables that are written inside braces on one line."""


def recipe_text(recipe: Recipe, *, base: str | None = None) -> str:
    """The text of a recipe.

    Parameters
    ----------
    recipe
        What the text shall say.
    base
        An earlier text of the recipe. Comments, order and the spelling of every number that did not change
        are kept; a band or ``[mono]`` that is gone goes with the comment above it; other fields that became
        neutral are written as such, so that the comment beside them stays. Without it the text is canonical:
        only what is not neutral, in the order of the format.

    Raises
    ------
    RecipeError
        `base` is no recipe.

    Examples
    --------
    >>> from driftline.recipe.model import Curve
    >>> print(recipe_text(Recipe(name="dusk", curve=Curve(slope=1.1))))
    format = 1
    name = "dusk"
    <BLANKLINE>
    [curve]
    slope = 1.1
    <BLANKLINE>
    >>> print(recipe_text(Recipe(curve=Curve(slope=1.2)), base="curve.slope = 1.10  # firm"))
    curve.slope = 1.2  # firm
    <BLANKLINE>
    """
    if base is None:
        return canonical_text(recipe)
    from driftline.recipe.rewriting import rewritten  # noqa: PLC0415  the lossless parser is loaded when needed

    return rewritten(recipe, base)


def canonical_text(recipe: Recipe) -> str:
    """Only what is not neutral, in the order of the format."""
    document: dict[str, Any] = {"format": recipe.format}
    if recipe.name is not None:
        document["name"] = recipe.name
    if recipe.about:
        document["about"] = recipe.about
    return toml_text(document | nested(written(recipe)), inline=INLINE)


def written(recipe: Recipe) -> dict[str, Value]:
    """The parameters that canonical text holds: what is not neutral, and whole bands and tints."""
    values = parameters(recipe)
    chosen: dict[str, Value] = {}
    for path, value in values.items():
        if value is None:
            continue
        parent = path.rpartition(".")[0]
        whole = parent in INLINE and values[f"{parent}.chroma"] != 0
        if whole or path == "mono.filter" or value != neutral_value(path):
            chosen[path] = value
    return chosen


def toml_text(document: Mapping[str, Any], *, inline: Collection[str] = (), within: str = "") -> str:
    """Plain TOML of nested mappings, values first, then a header for each table that holds values.

    Examples
    --------
    >>> print(toml_text({"ev": 0.5, "at": {"x": 1.0}}, inline={"at"}), end="")
    ev = 0.5
    at = { x = 1.0 }
    """
    values, tables = [], []
    for key, value in document.items():
        place = f"{within}.{key}" if within else key
        if isinstance(value, Mapping) and place not in inline:
            tables.append(toml_text(value, inline=inline, within=place))
        else:
            values.append(f"{key} = {toml_value(value)}\n")
    head = f"[{within}]\n" if within and (values or not tables) else ""
    body = [head + "".join(values)] if head or values else []
    return "\n".join([*body, *tables])


def toml_value(value: Any) -> str:
    """One value in TOML; text of several lines keeps them.

    Examples
    --------
    >>> toml_value(8), toml_value((0.25, 0.5, 0.25)), toml_value("soft toe")
    ('8', '[0.25, 0.5, 0.25]', '"soft toe"')
    """
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {toml_value(item)}" for key, item in value.items()) + " }"
    if isinstance(value, tuple | list):
        return "[" + ", ".join(map(toml_value, value)) + "]"
    if isinstance(value, str) and "\n" in value:
        return '"""\n' + value.replace("\\", "\\\\").replace('"', '\\"') + '"""'
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else repr(value)
