"""The likeness: how one camera, in one picture setting, renders what its sensor saw; learned from pairs."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from math import log2
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from driftline.recipe.reading import parse_as, read_text
from driftline.recipe.sections import FROZEN_MAPPING, Frozen, Name, Section, tuple_from_list
from driftline.recipe.writing import toml_text

TONE_STOPS = (-9.0, -8.0, -7.0, -6.0, -5.0, -4.5, -4.0, -3.5, -3.0, -2.5, -2.0, -1.5, -1.0, -0.5,
              0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0)  # fmt: skip
"""Where the tone curve is known: stops about middle grey in the scene."""
HUE_TERMS = 7
"""A constant and three harmonics round the hue circle: a small smooth correction, and nothing sharper."""

LENS_TERMS = 3
"""Of radial distortion, and of falloff: r², r⁴ and r⁶."""
_SAME_FOCAL = 0.03
"""Within so much of each other, two focal lengths are one."""

_Numbers = Annotated[tuple[float, ...], BeforeValidator(tuple_from_list)]
NEUTRAL_TERMS = (0.0,) * HUE_TERMS


class LensTerms(Section):
    """What the camera takes out of one lens at one focal length; lengths in half diagonals of the picture."""

    name: str = Field("", max_length=200, description="The lens as the camera writes it; empty: not known.")
    focal_mm: float = Field(gt=0, le=5000, description="Focal length in mm.")
    distortion: _Numbers = Field(
        (0.0,) * LENS_TERMS,
        min_length=LENS_TERMS,
        max_length=LENS_TERMS,
        description="The sensor saw at r (1 + k1 r² + k2 r⁴ + k3 r⁶) what belongs at r; k1 below 0: barrel.",
    )
    falloff_ev: _Numbers = Field(
        (0.0,) * LENS_TERMS,
        min_length=LENS_TERMS,
        max_length=LENS_TERMS,
        description="EV by which r², r⁴, r⁶ are brightened.",
    )
    source: Literal["pairs", "file"] = Field(
        "pairs", description="Measured on pairs, or stated by the raw files themselves (DNG opcodes)."
    )
    pairs: int = Field(0, ge=0, description="How many pairs it was learned from.")

    @model_validator(mode="after")
    def _slight(self) -> Self:
        if any(abs(term) > 0.5 for term in self.distortion) or any(abs(t) > 5 for t in self.falloff_ev):
            raise _refused("lens", "terms of no real lens", "distortion within ±0.5, falloff within ±5 EV")
        return self


class Likeness(Section):
    """A camera's rendering as a global model; the neutral recipe with it is plain.

    ``matrix`` (row by row, each row summing to 1) acts on linear Rec. 2020 before the curve; ``tone`` is
    the standing curve at :data:`TONE_STOPS`, in stops about the display's middle grey; ``turn`` (degrees)
    and ``scale`` (log2 of chroma) are a constant and three cosine-sine pairs in OkLCh hue. ``lens`` holds,
    under keys without a meaning, what the camera takes out of its lenses before all that.
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
    lens: Annotated[Mapping[Name, LensTerms], *FROZEN_MAPPING] = Field(
        default_factory=lambda: Frozen({}),
        description="Distortion and falloff by lens and focal length, where the pairs show them.",
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
        touching: tuple[object, ...] = (self.matrix, self.tone, self.turn, self.scale)
        if self.lens:
            terms = sorted((t.name, t.focal_mm, t.distortion, t.falloff_ev) for t in self.lens.values())
            touching = (*touching, terms)
        return hashlib.sha256(repr(touching).encode()).hexdigest()[:12]

    def lens_terms(self, name: str, focal_mm: float | None) -> LensTerms | None:
        """What to take out of a lens at a focal length; between two that were learned, part of each.

        None for a lens, or a focal length beyond those, that was not learned.
        """
        known = sorted((t for t in self.lens.values() if t.name == name), key=lambda terms: terms.focal_mm)
        if focal_mm is None or focal_mm <= 0 or not known:
            return None
        nearest = min(known, key=lambda terms: abs(log2(terms.focal_mm / focal_mm)))
        if abs(nearest.focal_mm / focal_mm - 1) <= _SAME_FOCAL:
            return nearest
        shorter = [terms for terms in known if terms.focal_mm < focal_mm]
        longer = [terms for terms in known if terms.focal_mm > focal_mm]
        return _between(shorter[-1], longer[0], focal_mm) if shorter and longer else None

    @property
    def name(self) -> str:
        """The name of its file: camera and setting in lower-case letters, digits and hyphens."""
        words = f"{self.camera} {self.setting or 'unknown'}".lower()
        letters = "".join(c if c.isascii() and c.isalnum() else "-" for c in words)
        return "-".join(part for part in letters.split("-") if part)[:64].rstrip("-")


def _between(a: LensTerms, b: LensTerms, focal_mm: float) -> LensTerms:
    """Terms between two focal lengths, in equal parts of their ratio."""
    part = log2(focal_mm / a.focal_mm) / log2(b.focal_mm / a.focal_mm)

    def mixed(one: tuple[float, ...], other: tuple[float, ...]) -> tuple[float, ...]:
        return tuple(round((1 - part) * x + part * y, 6) for x, y in zip(one, other, strict=True))

    return a.model_copy(
        update={
            "focal_mm": focal_mm,
            "distortion": mixed(a.distortion, b.distortion),
            "falloff_ev": mixed(a.falloff_ev, b.falloff_ev),
        }
    )


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
    document = likeness.model_dump(exclude_none=True)
    if not likeness.lens:
        del document["lens"]
    return toml_text(document)
