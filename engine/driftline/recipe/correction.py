"""The correction: the small change one frame needs, which is not part of the look."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, NamedTuple, Self

from pydantic import BeforeValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from driftline.recipe.reading import parse_as, read_text
from driftline.recipe.sections import Number, Section, fraction, quantity, required_quantity, tuple_from_list
from driftline.recipe.writing import toml_text

LEAST_SIDE = 0.02


class Crop(NamedTuple):
    """The part of the picture that is kept; edges as fractions of the width and height, from the top left."""

    left: Annotated[float, fraction("Left edge; larger cuts more off the left.")] = 0.0
    top: Annotated[float, fraction("Top edge; larger cuts more off the top.")] = 0.0
    right: Annotated[float, fraction("Right edge; smaller cuts more off the right.")] = 1.0
    bottom: Annotated[float, fraction("Bottom edge; smaller cuts more off the bottom.")] = 1.0


class Dodge(NamedTuple):
    """A soft round spot that is made lighter or darker."""

    x: Annotated[float, fraction("Centre, as a fraction of the width from the left.")]
    y: Annotated[float, fraction("Centre, as a fraction of the height from the top.")]
    radius: Annotated[float, fraction("Of the spot, by the longer side; larger reaches further.", low=0.01)]
    ev: Annotated[
        float, required_quantity(-3, 3, unit="EV", means="At the centre; + is lighter, - is darker.")
    ]


NO_CROP = Crop()


class Correction(Section):
    """What is put right on one frame before the look is judged; an empty correction changes nothing.

    Examples
    --------
    >>> Correction(ev=0.5, crop=Crop(left=0.1)).crop.right
    1.0
    """

    ev: Number = quantity(
        0.0, -6, 6, unit="EV", means="Exposure in linear light; + is brighter, +1 doubles it."
    )
    shift: Number = quantity(
        0.0, -150, 150, unit="mired", means="White against as-shot, on top of the recipe; + is warmer."
    )
    crop: Annotated[Crop, BeforeValidator(tuple_from_list)] = Field(
        NO_CROP, description="The part of the picture that is kept."
    )
    turn: Number = quantity(
        0.0, -45, 45, unit="deg", means="Turns the picture to make a horizon level; + is clockwise."
    )
    dodge: Annotated[Dodge, BeforeValidator(tuple_from_list)] | None = Field(
        None, description="A soft round spot that is made lighter or darker; absent, there is none."
    )

    @property
    def framed(self) -> bool:
        """Whether the picture is cut or turned."""
        return self.crop != NO_CROP or bool(self.turn)

    @model_validator(mode="after")
    def _something_is_left(self) -> Self:
        for low, high in (("left", "right"), ("top", "bottom")):
            edges = getattr(self.crop, low), getattr(self.crop, high)
            if edges[1] - edges[0] < LEAST_SIDE:
                raise PydanticCustomError(
                    "refused",
                    "allowed {high} at least {least} beyond {low}",
                    {
                        "field": "crop",
                        "given": f"{low} {edges[0]:g}, {high} {edges[1]:g}",
                        "low": low,
                        "high": high,
                        "least": LEAST_SIDE,
                        "hint": f"a {high} edge beyond the {low} edge; without a crop all is kept",
                    },
                )
        return self


NO_CORRECTION = Correction()


def read_correction(path: str | Path) -> Correction:
    """The correction in the file at `path`.

    Raises
    ------
    RecipeError
        Under codes that start with ``correction-``; the message names file, line and field.
    """
    return parse_correction(read_text(Path(path), kind="correction"), source=str(path))


def parse_correction(text: str, *, source: str) -> Correction:
    """The correction that `text` says; crop and dodge as tables or as four numbers in brackets.

    Examples
    --------
    >>> parse_correction("ev = 0.3\\ndodge = [0.5, 0.4, 0.2, 0.5]", source="example").dodge.radius
    0.2
    """
    return parse_as(Correction, text, source=source, kind="correction")


def correction_text(correction: Correction) -> str:
    """Canonical text: what is not neutral, with every number of a crop or dodge under its name.

    Examples
    --------
    >>> print(correction_text(Correction(ev=0.3, turn=-1.5)), end="")
    ev = 0.3
    turn = -1.5
    """
    values = {
        key: value._asdict() if isinstance(value, Crop | Dodge) else value
        for key, value in correction
        if value != getattr(NO_CORRECTION, key)
    }
    return toml_text(values, inline=("crop", "dodge"))
