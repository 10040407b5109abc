"""What changed between two recipes, parameter by parameter; and putting a change on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from driftline.recipe.fields import (
    Value,
    field_spec,
    field_specs,
    from_parameters,
    generic_path,
    neutral_value,
    parameters,
)
from driftline.recipe.model import Recipe


@dataclass(frozen=True, slots=True)
class Change:
    """One parameter that moved; None stands for a switch that is off or a band that is absent."""

    field: str
    before: Value
    after: Value
    unit: str

    def json(self) -> dict[str, Any]:
        """The change as ``{field, from, to, unit}``."""
        return {"field": self.field, "from": _plain(self.before), "to": _plain(self.after), "unit": self.unit}


def differences(a: Recipe, b: Recipe) -> tuple[Change, ...]:
    """Every parameter in which `b` differs from `a`, in the order of the format.

    A section absent equals its neutral. A band that only one side has differs in its hue and width (from or
    to None) and in whatever else of it is not neutral. ``name`` and ``about`` are not parameters.

    Examples
    --------
    >>> from driftline.recipe.model import Exposure
    >>> differences(Recipe(), Recipe(exposure=Exposure(ev=0.5)))
    (Change(field='exposure.ev', before=0.0, after=0.5, unit='EV'),)
    """
    before, after = parameters(a), parameters(b)
    paths = list(parameters(a)) if before.keys() == after.keys() else _ordered(before.keys() | after.keys())
    changes = []
    for path in paths:
        old = before[path] if path in before else neutral_value(path)
        new = after[path] if path in after else neutral_value(path)
        if old != new:
            changes.append(Change(path, old, new, field_spec(path).unit))
    return tuple(changes)


def apply_changes(recipe: Recipe, changes: Iterable[Change]) -> Recipe:
    """The recipe with each changed parameter at its new value; its words stay.

    Only ``after`` counts, so changes of several origins can be put on one recipe.

    Raises
    ------
    RecipeError
        The result is out of range or contradicts itself.

    Examples
    --------
    >>> apply_changes(Recipe(), [Change("curve.slope", 1.0, 1.2, "")]).curve.slope
    1.2
    """
    values = parameters(recipe)
    for change in changes:
        values[change.field] = change.after
    return from_parameters(values, name=recipe.name, about=recipe.about)


def _ordered(paths: Iterable[str]) -> list[str]:
    rank = {path: index for index, path in enumerate(field_specs())}

    def place(path: str) -> tuple[Any, ...]:
        generic = generic_path(path)
        if generic == path:
            return (rank[path], "", 0)
        return (rank["chroma.band.*.hue"], path.split(".")[2], rank[generic])

    return sorted(paths, key=place)


def _plain(value: Value) -> Any:
    return list(value) if isinstance(value, tuple) else value
