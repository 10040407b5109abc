"""What the sections of a recipe are made of: strict frozen models, numbers with unit and range, names.

Every number carries its unit, range, neutral value and one sentence that says which way the picture moves;
the JSON Schema, the differences and the error messages are all read from there.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Generic, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    SerializerFunctionWrapHandler,
    WrapSerializer,
)

V = TypeVar("V")

NAME_PATTERN = r"^[a-z0-9][a-z0-9-]*$"
"""Lower-case letters, digits and hyphens, so that a name is one file on every file system."""


def unsigned_zero(value: float) -> float:
    """The same number, with -0.0 as 0.0, so that equal recipes have equal text."""
    return value + 0.0


Number = Annotated[float, AfterValidator(unsigned_zero)]
"""A finite float; an integer is taken, a boolean is not, and -0.0 is 0.0."""

Name = Annotated[str, Field(pattern=NAME_PATTERN, max_length=64)]


class Section(BaseModel):
    """A frozen part of a recipe that takes nothing it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


def quantity(neutral: float | None, low: float, high: float, *, unit: str, means: str) -> Any:
    """A number of a section: its neutral value, closed range, unit ("" for a pure number) and meaning."""
    return Field(neutral, ge=low, le=high, description=means, json_schema_extra={"unit": unit})


def required_quantity(low: float, high: float, *, unit: str, means: str) -> Any:
    """A number without which its section says nothing, such as where on the hue circle a band stands."""
    return Field(ge=low, le=high, description=means, json_schema_extra={"unit": unit})


class Frozen(Mapping[str, V], Generic[V]):
    """A mapping that never changes and can be hashed; equal to any mapping of the same items."""

    __slots__ = ("_items",)

    def __init__(self, items: Mapping[str, V]) -> None:
        self._items = dict(items)

    def __getitem__(self, key: str) -> V:
        return self._items[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self._items)

    def __len__(self) -> int:
        return len(self._items)

    def __hash__(self) -> int:
        return hash(frozenset(self._items.items()))

    def __repr__(self) -> str:
        return repr(self._items)


def _thawed(value: Any) -> Any:
    return dict(value) if isinstance(value, Frozen) else value


def _serialized(value: Mapping[str, Any], handler: SerializerFunctionWrapHandler) -> Any:
    return handler(dict(value))


FROZEN_MAPPING = (BeforeValidator(_thawed), AfterValidator(Frozen), WrapSerializer(_serialized))
"""Annotations that make a ``Mapping[str, V]`` field immutable and hashable."""


def fraction(means: str, *, low: float = 0) -> Any:
    """A place or length in the picture, up to 1 for its whole side."""
    return Field(ge=low, le=1, description=means, json_schema_extra={"unit": "of the side"})


def tuple_from_list(value: Any) -> Any:
    """TOML has lists; the models hold tuples."""
    return tuple(value) if isinstance(value, list) else value
