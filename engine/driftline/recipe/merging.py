"""Two recipes that grew from one, brought together parameter by parameter."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from driftline.recipe.differences import Change, apply_changes, differences
from driftline.recipe.fields import Value, field_spec, neutral_value, parameters
from driftline.recipe.model import Recipe

Side = Literal["here", "there"]


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that both sides changed, each in its own way; ``field`` names it.

    ``here`` and ``there`` are what each side has: a value, or values by field path where several parameters
    make up one decision (a white, black and white, a band that one side took out).
    """

    field: str
    here: Value | Mapping[str, Value]
    there: Value | Mapping[str, Value]
    unit: str

    def json(self) -> dict[str, Any]:
        """The choice as ``{field, here, there, unit}``."""
        return {
            "field": self.field,
            "here": _plain(self.here),
            "there": _plain(self.there),
            "unit": self.unit,
        }


def merge(
    base: Recipe, here: Recipe, there: Recipe, *, choose: Mapping[str, Side] | None = None
) -> tuple[Recipe, tuple[Choice, ...]]:
    """What both sides changed since `base`, and the choices that are still open.

    Different parameters merge; the same change on both sides is one change. An open choice keeps what is
    here. `choose` settles choices by their field. Name and about stay as they are here.

    Examples
    --------
    >>> from driftline.recipe.model import Curve, Exposure
    >>> both, choices = merge(Recipe(), Recipe(exposure=Exposure(ev=0.5)), Recipe(curve=Curve(slope=1.2)))
    >>> both.exposure.ev, both.curve.slope, choices
    (0.5, 1.2, ())
    """
    mine, theirs = (_decisions(differences(base, side), (base, here, there)) for side in (here, there))
    taken: list[Change] = []
    open_choices = []
    for decision, changes in theirs.items():
        if decision not in mine:
            taken += changes
            continue
        paths = tuple(dict.fromkeys(change.field for change in (*mine[decision], *changes)))
        choice = _choice(decision, paths, here, there)
        if choice.here == choice.there:
            continue
        if choice.field not in (choose or {}):
            open_choices.append(choice)
        elif (choose or {})[choice.field] == "there":
            taken += [Change(path, _at(here, path), _at(there, path), "") for path in paths]
    return apply_changes(here, taken), tuple(open_choices)


def _decisions(changes: Iterable[Change], recipes: tuple[Recipe, ...]) -> dict[str, list[Change]]:
    """Changes grouped by what has to be decided as one."""
    grouped: dict[str, list[Change]] = {}
    for change in changes:
        grouped.setdefault(_decision(change.field, recipes), []).append(change)
    return grouped


def _decision(path: str, recipes: tuple[Recipe, ...]) -> str:
    section, _, rest = path.partition(".")
    if section == "mono" or path in {"white.shift", "white.kelvin"}:
        return section
    if rest.startswith("band."):
        band = rest.split(".")[1]
        if not all(band in recipe.chroma.band for recipe in recipes):
            return f"chroma.band.{band}"
    return path


def _choice(decision: str, paths: tuple[str, ...], here: Recipe, there: Recipe) -> Choice:
    if len(paths) == 1:
        return Choice(paths[0], _at(here, paths[0]), _at(there, paths[0]), field_spec(paths[0]).unit)
    return Choice(
        decision, {path: _at(here, path) for path in paths}, {path: _at(there, path) for path in paths}, ""
    )


def _at(recipe: Recipe, path: str) -> Value:
    values = parameters(recipe)
    return values[path] if path in values else neutral_value(path)


def _plain(value: Value | Mapping[str, Value]) -> Any:
    if isinstance(value, Mapping):
        return {path: _plain(part) for path, part in value.items()}
    return list(value) if isinstance(value, tuple) else value
