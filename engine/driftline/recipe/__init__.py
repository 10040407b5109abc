"""What a look is: the recipe and the correction as data, their text, and what can be said of two of them.

Owns format 1 (models, ranges, units), TOML in and out with comments kept, errors that name file, line and
field, field paths, differences and their words, blends. It must not know pixels, frames, git or the terminal.
Read :func:`~driftline.recipe.reading.parse_recipe` and
:func:`~driftline.recipe.differences.differences` first.
"""

from driftline.recipe.blending import blend, scaled
from driftline.recipe.correction import (
    NO_CORRECTION,
    Correction,
    Crop,
    Dodge,
    correction_text,
    parse_correction,
    read_correction,
)
from driftline.recipe.differences import Change, apply_changes, differences
from driftline.recipe.fields import FieldSpec, field_spec, field_specs, from_parameters, parameters
from driftline.recipe.identity import identity
from driftline.recipe.likeness import (
    HUE_TERMS,
    TONE_STOPS,
    LensTerms,
    Likeness,
    likeness_name,
    likeness_text,
    parse_likeness,
    read_likeness,
)
from driftline.recipe.merging import Choice, merge
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
from driftline.recipe.schema import recipe_schema
from driftline.recipe.words import in_words
from driftline.recipe.writing import recipe_text, toml_text

__all__ = [
    "FILTER_NAMES",
    "HUE_TERMS",
    "NEUTRAL",
    "NO_CORRECTION",
    "TONE_STOPS",
    "Band",
    "Change",
    "Choice",
    "Chroma",
    "Correction",
    "Crop",
    "Curve",
    "Dodge",
    "Exposure",
    "FieldSpec",
    "Finish",
    "Grain",
    "LensTerms",
    "Likeness",
    "Mono",
    "Noise",
    "Recipe",
    "Split",
    "Tint",
    "White",
    "apply_changes",
    "blend",
    "correction_text",
    "decode",
    "differences",
    "field_spec",
    "field_specs",
    "from_parameters",
    "identity",
    "in_words",
    "likeness_name",
    "likeness_text",
    "merge",
    "parameters",
    "parse_as",
    "parse_correction",
    "parse_likeness",
    "parse_recipe",
    "read_correction",
    "read_likeness",
    "read_recipe",
    "read_text",
    "recipe_schema",
    "recipe_text",
    "scaled",
    "toml_text",
]
