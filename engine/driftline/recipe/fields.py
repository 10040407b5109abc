"""Field paths: the one way differences, merge, blend, trends and screens name a parameter.

``curve.slope`` and ``chroma.band.brick.turn`` are field paths. A recipe's parameters are what moves the
picture: everything but ``format``, ``name`` and ``about``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal, TypeAlias, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from driftline.errors import RecipeError
from driftline.recipe.model import Band, Recipe
from driftline.recipe.problems import first_problem

Value: TypeAlias = float | str | tuple[float, ...] | None
"""What a parameter holds; None where a switch is off or a band is absent."""

WORDS = ("format", "name", "about")
"""Fields of a recipe that do not move the picture."""


@dataclass(frozen=True, slots=True)
class FieldSpec:
    """What is known of one parameter.

    ``path`` has ``*`` for the name of a band; ``low`` and ``high`` are None where the value is one of
    ``choices`` or a triple; ``neutral`` is None for a switch that is off.
    """

    path: str
    unit: str
    means: str
    neutral: Value
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()


@cache
def field_specs() -> Mapping[str, FieldSpec]:
    """Every parameter of format 1 by its path, in the order of the format; bands as ``chroma.band.*.hue``."""
    specs: dict[str, FieldSpec] = {}
    for name, info in Recipe.model_fields.items():
        if name not in WORDS:
            _collect(name, info, specs)
    return specs


def field_spec(path: str) -> FieldSpec:
    """What is known of the parameter at `path`.

    Raises
    ------
    RecipeError
        ``recipe-unknown-field`` if there is no such parameter.

    Examples
    --------
    >>> field_spec("chroma.band.brick.turn").unit
    'deg'
    """
    try:
        return field_specs()[generic_path(path)]
    except KeyError:
        raise RecipeError(
            "recipe-unknown-field", f"{path}: there is no such parameter", hint="a path such as curve.slope"
        ) from None


def generic_path(path: str) -> str:
    """The path with the name of a band replaced by ``*``."""
    parts = path.split(".")
    if len(parts) == 4 and parts[:2] == ["chroma", "band"]:
        parts[2] = "*"
    return ".".join(parts)


def parameters(recipe: Recipe) -> dict[str, Value]:
    """Every parameter of a recipe by field path, in the order of the format, bands by name.

    A recipe in colour has ``mono.filter`` and ``mono.weights`` None; an absent band has no entries.

    Examples
    --------
    >>> parameters(Recipe())["curve.slope"]
    1.0
    """
    values: dict[str, Value] = {}
    for path in field_specs():
        if path.startswith("chroma.band.*."):
            continue
        values[path] = _at(recipe, path)
        if path == "chroma.scale":
            for name in sorted(recipe.chroma.band):
                band = recipe.chroma.band[name]
                values |= {f"chroma.band.{name}.{key}": getattr(band, key) for key in Band.model_fields}
    return values


def neutral_value(path: str) -> Value:
    """What the parameter at `path` is in a recipe that does not mention it; None for a band's hue and width.

    Examples
    --------
    >>> neutral_value("chroma.band.brick.scale"), neutral_value("chroma.band.brick.hue")
    (1.0, None)
    """
    return field_spec(path).neutral


def from_parameters(values: Mapping[str, Value], *, name: str | None = None, about: str = "") -> Recipe:
    """The recipe with these parameters; those not given are neutral.

    Raises
    ------
    RecipeError
        A value is out of range or the parameters contradict one another.
    """
    document: dict[str, Any] = {"name": name, "about": about}
    document |= nested({path: value for path, value in values.items() if _counts(path, values)})
    try:
        return Recipe.model_validate(document)
    except ValidationError as error:
        raise first_problem(
            error, Recipe, document, "", source="the recipe as changed", kind="recipe"
        ) from None


def _counts(path: str, values: Mapping[str, Value]) -> bool:
    """Whether a parameter is to be given to the model: neutral ones and those of an absent band are not."""
    value = values[path]
    if value is None or (
        path.startswith("chroma.band.") and values.get(path.rpartition(".")[0] + ".hue", "") is None
    ):
        return False
    return value != neutral_value(path) or path.startswith("mono.")


def nested(values: Mapping[str, Value]) -> dict[str, Any]:
    """Field paths as tables within tables.

    Examples
    --------
    >>> nested({"curve.slope": 1.1, "curve.toe": 0.2})
    {'curve': {'slope': 1.1, 'toe': 0.2}}
    """
    document: dict[str, Any] = {}
    for path, value in values.items():
        *sections, key = path.split(".")
        table = document
        for section in sections:
            table = table.setdefault(section, {})
        table[key] = value
    return document


def _at(recipe: Recipe, path: str) -> Value:
    value: Any = recipe
    for part in path.split("."):
        value = None if value is None else getattr(value, part)
    return value  # type: ignore[no-any-return]  # a leaf


def _collect(path: str, info: FieldInfo, specs: dict[str, FieldSpec]) -> None:
    if path == "chroma.band":
        for key, field in Band.model_fields.items():
            _collect(f"{path}.*.{key}", field, specs)
        return
    inner = _model_of(info)
    if inner is not None:
        for key, field in inner.model_fields.items():
            _collect(f"{path}.{key}", field, specs)
        return
    specs[path] = _spec(path, info)


def _model_of(info: FieldInfo) -> type[BaseModel] | None:
    candidates = (info.annotation, *getattr(info.annotation, "__args__", ()))
    return next((kind for kind in candidates if isinstance(kind, type) and issubclass(kind, BaseModel)), None)


def _choices(annotation: Any) -> tuple[str, ...]:
    kinds = (annotation, *get_args(annotation))
    return next((get_args(kind) for kind in kinds if get_origin(kind) is Literal), ())


def _spec(path: str, info: FieldInfo) -> FieldSpec:
    extra = info.json_schema_extra
    limits = {
        key: getattr(entry, key) for entry in info.metadata for key in ("ge", "le") if hasattr(entry, key)
    }
    # A band's hue and width say where it stands: an absent band stands nowhere.
    stands = path in {"chroma.band.*.hue", "chroma.band.*.width"}
    return FieldSpec(
        path=path,
        unit=str(extra.get("unit", "")) if isinstance(extra, dict) else "",
        means=info.description or "",
        neutral=None if stands or info.default is PydanticUndefined else info.default,
        low=limits.get("ge"),
        high=limits.get("le"),
        choices=_choices(info.annotation),
    )
