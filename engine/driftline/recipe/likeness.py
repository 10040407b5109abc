"""The likeness: how one camera, in one picture setting, renders what its sensor saw; learned from pairs."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Annotated, Self

from pydantic import BeforeValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from driftline.recipe.reading import parse_as, read_text
from driftline.recipe.sections import Section, tuple_from_list
from driftline.recipe.writing import toml_text

TONE_STOPS = (-9.0, -8.0, -7.0, -6.0, -5.0, -4.5, -4.0, -3.5, -3.0, -2.5, -2.0, -1.5, -1.0, -0.5,
              0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0)  # fmt: skip
"""Where the tone curve is known: stops about middle grey in the scene."""
HUE_TERMS = 7
"""A constant and three harmonics round the hue circle: a small smooth correction, and nothing sharper."""

_Numbers = Annotated[tuple[float, ...], BeforeValidator(tuple_from_list)]
NEUTRAL_TERMS = (0.0,) * HUE_TERMS


class Likeness(Section):
    """A camera's rendering as a global model; the neutral recipe with it is plain.

    ``matrix`` (row by row, each row summing to 1) acts on linear Rec. 2020 before the curve; ``tone`` is
    the standing curve at :data:`TONE_STOPS`, in stops about the display's middle grey; ``turn`` (degrees)
    and ``scale`` (log2 of chroma) are a constant and three cosine-sine pairs in OkLCh hue.
    """

    camera: str = Field(max_length=200, description="Make and model.")
    setting: str = Field("", max_length=100, description="The in-camera picture setting; empty: not known.")
    matrix: _Numbers = Field(min_length=9, max_length=9, description="Linear Rec. 2020 to itself.")
    tone: _Numbers = Field(
        min_length=len(TONE_STOPS), max_length=len(TONE_STOPS), description="Stops about 0.18."
    )
    turn: _Numbers = Field(NEUTRAL_TERMS, min_length=HUE_TERMS, max_length=HUE_TERMS, description="Degrees.")
    scale: _Numbers = Field(
        NEUTRAL_TERMS, min_length=HUE_TERMS, max_length=HUE_TERMS, description="log2 of chroma."
    )
    pairs: int = Field(0, ge=0, description="How many pairs it was learned from.")
    held_out_mean: float | None = Field(None, ge=0, description="Mean ΔE00 on pairs held out.")
    held_out_p95: float | None = Field(None, ge=0, description="95th percentile of ΔE00 there.")

    @model_validator(mode="after")
    def _a_curve_rises(self) -> Self:
        if any(b < a for a, b in zip(self.tone, self.tone[1:], strict=False)):
            raise _refused("tone", "a curve that falls", "a curve that never falls")
        for row in range(3):
            if abs(sum(self.matrix[3 * row : 3 * row + 3]) - 1) > 1e-3:
                raise _refused("matrix", f"row {row + 1}", "rows that each sum to 1")
        return self

    def digest(self) -> str:
        """Twelve digits that change with anything that touches a pixel."""
        touching = (self.matrix, self.tone, self.turn, self.scale)
        return hashlib.sha256(repr(touching).encode()).hexdigest()[:12]

    @property
    def name(self) -> str:
        """The name of its file: camera and setting in lower-case letters, digits and hyphens."""
        words = f"{self.camera} {self.setting or 'unknown'}".lower()
        letters = "".join(c if c.isascii() and c.isalnum() else "-" for c in words)
        return "-".join(part for part in letters.split("-") if part)[:64].rstrip("-")


def _refused(field: str, given: str, allowed: str) -> PydanticCustomError:
    told = {"field": field, "given": given, "allowed": allowed, "hint": "driftline learn writes it anew"}
    return PydanticCustomError("refused", "allowed {allowed}", told)


def likeness_name(camera: str, setting: str) -> str:
    """The name under which a likeness of this camera and setting is kept.

    Examples
    --------
    >>> likeness_name("Ostrel K2", "Everyday")
    'ostrel-k2-everyday'
    """
    flat = (0.0,) * len(TONE_STOPS)
    return Likeness(camera=camera, setting=setting, matrix=(1, 0, 0, 0, 1, 0, 0, 0, 1), tone=flat).name


def read_likeness(path: str | Path) -> Likeness:
    """The likeness in a file.

    Raises
    ------
    RecipeError
        Under codes that start with ``likeness-``; the message names file, line and field.
    """
    return parse_likeness(read_text(Path(path), kind="likeness"), source=str(path))


def parse_likeness(text: str, *, source: str) -> Likeness:
    """The likeness that a text says; errors as :func:`read_likeness`."""
    return parse_as(Likeness, text, source=source, kind="likeness")


def likeness_text(likeness: Likeness) -> str:
    """Canonical text."""
    values = {key: value for key, value in likeness if value is not None}
    return toml_text({key: list(v) if isinstance(v, tuple) else v for key, v in values.items()})
