"""A name for the look itself, the same wherever and however the recipe is written."""

from __future__ import annotations

import hashlib
import json

from driftline.recipe.fields import neutral_value, parameters
from driftline.recipe.model import Recipe


def identity(recipe: Recipe) -> str:
    """SHA-256, in hex, of the parameters that are not neutral; name, about and comments do not count.

    A field that a later driftline adds at its neutral value leaves it unchanged.

    Examples
    --------
    >>> identity(Recipe(name="dusk")) == identity(Recipe())
    True
    """
    values = {path: value for path, value in parameters(recipe).items() if value != neutral_value(path)}
    canonical = json.dumps(values, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False)
    return hashlib.sha256(canonical.encode("ascii")).hexdigest()
