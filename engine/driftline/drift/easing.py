"""A softer recipe in numbers that a person would write."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from types import MappingProxyType

from driftline.recipe import Change, Recipe, apply_changes, differences, scaled
from driftline.recipe.fields import generic_path, neutral_value

DECIMALS = MappingProxyType(
    {
        "exposure.ev": 2,
        "white.shift": 0,
        "white.duv": 4,
        "curve.slope": 2,
        "curve.toe": 2,
        "curve.shoulder": 2,
        "chroma.scale": 2,
        "chroma.band.*.turn": 0,
        "chroma.band.*.scale": 2,
        "chroma.band.*.lightness": 3,
        "split.low.chroma": 3,
        "split.high.chroma": 3,
        "noise.chroma": 2,
        "finish.acutance": 2,
    }
)
"""To how many decimals a person writes each parameter that tempering eases."""


def eased(recipe: Recipe, strength: float, sections: Iterable[str] | None = None) -> Recipe:
    """A softer recipe in numbers that a person would write, none of them further out than before.

    Examples
    --------
    >>> from driftline.recipe import Exposure, White
    >>> eased(Recipe(white=White(shift=17.0), exposure=Exposure(ev=0.333)), 0.7).white.shift
    12.0
    """
    only = None if sections is None else set(sections)
    changes = differences(recipe, scaled(recipe, strength, only=only))
    return apply_changes(recipe, [replace(change, after=_written(change)) for change in changes])


def easable(recipe: Recipe) -> tuple[str, ...]:
    """The sections that tempering can ease, in the order of the format.

    Examples
    --------
    >>> from driftline.recipe import Curve, Grain
    >>> easable(Recipe(curve=Curve(slope=1.2), grain=Grain(rms_granularity=9.0)))
    ('curve',)
    """
    changes = differences(recipe, scaled(recipe, 0.0))
    return tuple(dict.fromkeys(change.field.partition(".")[0] for change in changes))


def _written(change: Change) -> float:
    """An eased number as a person would write it: rounded, and never further out than it was."""
    old, new, neutral = change.before, change.after, neutral_value(change.field)
    assert isinstance(old, float)
    assert isinstance(new, float)
    middle = float(neutral) if isinstance(neutral, float) else 0.0
    rounded = round(new, DECIMALS[generic_path(change.field)])
    return old if abs(rounded - middle) > abs(old - middle) else rounded
