"""What a look is: the recipe and the correction as data, their text, and what can be said of two of them.

Owns format 1 (models, ranges, units), TOML in and out with comments kept, errors that name file, line and
field, field paths, differences and their words, blends. It must not know pixels, frames, git or the terminal.
Read :func:`~driftline.recipe.reading.parse_recipe` and
:func:`~driftline.recipe.differences.differences` first.
"""

from driftline.recipe.differences import Change, apply_changes, differences
from driftline.recipe.fields import FieldSpec, field_spec, field_specs, from_parameters, parameters
from driftline.recipe.model import (
    FILTER_NAMES,
    NEUTRAL,
    Band,
    Chroma,
    Curve,
    Exposure,
    Finish,
    Grain,
    Mono,
    Noise,
    Recipe,
    Split,
    Tint,
    White,
)
from driftline.recipe.reading import decode, parse_as, parse_recipe, read_recipe, read_text

__all__ = [
    "FILTER_NAMES",
    "NEUTRAL",
    "Band",
    "Change",
    "Chroma",
    "Curve",
    "Exposure",
    "FieldSpec",
    "Finish",
    "Grain",
    "Mono",
    "Noise",
    "Recipe",
    "Split",
    "Tint",
    "White",
    "apply_changes",
    "decode",
    "differences",
    "field_spec",
    "field_specs",
    "from_parameters",
    "parameters",
    "parse_as",
    "parse_recipe",
    "read_recipe",
    "read_text",
]
