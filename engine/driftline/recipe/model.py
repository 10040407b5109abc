"""The recipe, format 1: one declarative look that holds for many frames."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal, Self, get_args

from pydantic import AfterValidator, BeforeValidator, Field, model_validator
from pydantic_core import PydanticCustomError

from driftline.recipe.sections import (
    FROZEN_MAPPING,
    Frozen,
    Name,
    Number,
    Section,
    quantity,
    required_quantity,
    tuple_from_list,
    unsigned_zero,
)

FilterName = Literal[
    "none", "yellow", "deep-yellow", "orange", "red", "deep-red", "yellow-green", "green", "blue"
]
"""Contrast filters for black-and-white by the colour the trade calls them; ``none`` is the bare film."""

FILTER_NAMES: tuple[str, ...] = get_args(FilterName)

WEIGHT_SUM_TOLERANCE = 0.0101


class Exposure(Section):
    """How bright the picture is, on top of where its anchor put it."""

    ev: Number = quantity(
        0.0, -6, 6, unit="EV", means="Exposure in linear light; + is brighter, +1 doubles it."
    )
    anchor: Literal["camera", "metered"] = Field(
        "camera",
        description="Where exposure starts: 'camera' puts middle grey where the camera rendering has it,"
        " 'metered' leaves the frame as it was exposed.",
        json_schema_extra={"unit": ""},
    )


class White(Section):
    """The colour of the light taken as white: a shift against as-shot, or an absolute temperature."""

    shift: Number = quantity(
        0.0, -150, 150, unit="mired", means="Shift against the as-shot white; + is warmer, - is colder."
    )
    kelvin: float | None = quantity(
        None,
        1667,
        25000,
        unit="K",
        means="Correlated colour temperature of the light taken as white, in place of shift; + is warmer.",
    )
    duv: Number = quantity(
        0.0,
        -0.05,
        0.05,
        unit="Duv",
        means="Distance off the Planckian locus; + is greener, - is more magenta.",
    )

    @model_validator(mode="after")
    def _one_way_to_say_white(self) -> Self:
        if self.kelvin is not None and "shift" in self.model_fields_set:
            raise PydanticCustomError(
                "conflict",
                "shift and kelvin are both given; they are two ways to say the same",
                {
                    "field": "kelvin",
                    "allowed": "one is allowed",
                    "hint": "keep white.shift or white.kelvin and delete the other",
                },
            )
        return self


class Curve(Section):
    """A characteristic curve in stops about middle grey, which it leaves where it is."""

    slope: Number = quantity(
        1.0, 0.5, 2.0, unit="", means="Contrast at middle grey; above 1 is harder, below 1 is softer."
    )
    toe: Number = quantity(0.0, -1, 1, unit="", means="The shadows: + closes them, - opens them.")
    shoulder: Number = quantity(
        0.0, -1, 1, unit="", means="The highlights: + rolls them off more gently, - lets them run up harder."
    )


class Band(Section):
    """Part of the hue circle, moved on its own."""

    hue: Number = required_quantity(0, 360, unit="deg", means="OkLCh hue at the middle of the band.")
    width: Number = quantity(
        40.0,
        5,
        180,
        unit="deg",
        means="How much of the hue circle the band takes in; larger reaches further.",
    )
    turn: Number = quantity(
        0.0,
        -60,
        60,
        unit="deg",
        means="Turns the hues of the band; + goes from red towards yellow and green.",
    )
    scale: Number = quantity(
        1.0, 0, 2, unit="", means="Multiplies the chroma of the band; above 1 is more colourful."
    )
    lightness: Number = quantity(
        0.0, -0.2, 0.2, unit="Oklab L", means="Moves the colours of the band; + is lighter, - is darker."
    )


class Chroma(Section):
    """How colourful the picture is, as a whole and by bands of hue."""

    scale: Number = quantity(
        1.0, 0, 2, unit="", means="Multiplies chroma; above 1 is more colourful, 0 is grey."
    )
    band: Annotated[Mapping[Name, Band], *FROZEN_MAPPING] = Field(
        default_factory=lambda: Frozen({}), description="Bands of hue, each under a name of its own."
    )


class Tint(Section):
    """A colour laid over one end of the tonal scale."""

    hue: Number = quantity(
        0.0, 0, 360, unit="deg", means="OkLCh hue of the tint; about 85 is warm, 250 cold."
    )
    chroma: Number = quantity(
        0.0, 0, 0.1, unit="Oklab C", means="How strong the tint is; 0 is none, larger is more colour."
    )


class Split(Section):
    """Split-toning: one tint in the shadows, another in the highlights."""

    low: Tint = Field(Tint(), description="The tint of the shadows.")
    high: Tint = Field(Tint(), description="The tint of the highlights.")
    pivot: Number = quantity(
        0.5,
        0.1,
        0.9,
        unit="Oklab L",
        means="Where the two tints meet; larger gives more of the picture to low.",
    )
    spread: Number = quantity(
        0.25,
        0.05,
        0.5,
        unit="Oklab L",
        means="How gradually one tint gives way to the other; larger is softer.",
    )


Weight = Annotated[float, Field(ge=-1, le=2), AfterValidator(unsigned_zero)]


class Mono(Section):
    """Black and white: how light each colour becomes; an empty section has no filter."""

    filter: FilterName | None = Field(
        None,
        description="Contrast filter by its common colour, which gets lighter and its opposite darker.",
        json_schema_extra={"unit": ""},
    )
    weights: Annotated[tuple[Weight, Weight, Weight], BeforeValidator(tuple_from_list)] | None = Field(
        None,
        description="Share of red, green and blue in the grey, in place of filter; they sum to 1"
        " (within 0.01; what is left is divided out), so grey stays where it is.",
        json_schema_extra={"unit": ""},
    )

    @model_validator(mode="after")
    def _one_way_to_say_grey(self) -> Self:
        if self.filter is not None and self.weights is not None:
            raise PydanticCustomError(
                "conflict",
                "filter and weights are both given; they are two ways to say the same",
                {
                    "field": "weights",
                    "allowed": "one is allowed",
                    "hint": "keep mono.filter or mono.weights and delete the other",
                },
            )
        if self.filter is None and self.weights is None:
            object.__setattr__(self, "filter", "none")
        if self.weights is not None and abs(sum(self.weights) - 1) > WEIGHT_SUM_TOLERANCE:
            raise _unbalanced(self.weights)
        return self

    @property
    def balanced_weights(self) -> tuple[float, float, float] | None:
        """The weights divided by their sum, so that grey stays exactly where it is; None for a filter.

        Examples
        --------
        >>> Mono(weights=(0.5, 0.25, 0.25)).balanced_weights
        (0.5, 0.25, 0.25)
        """
        if self.weights is None:
            return None
        red, green, blue = (weight / sum(self.weights) for weight in self.weights)
        return red, green, blue


def _unbalanced(weights: tuple[float, float, float]) -> PydanticCustomError:
    total = sum(weights)
    hint = "weights that sum to 1"
    if total > 0.1:
        red, green = (round(weight / total, 3) for weight in weights[:2])
        hint = f"[{red}, {green}, {round(1 - red - green, 3)}]"
    return PydanticCustomError(
        "refused",
        "the three sum to {total}; allowed 1",
        {"field": "weights", "total": f"{total:.4g}", "hint": hint},
    )


class Noise(Section):
    """Colour noise of the sensor."""

    chroma: Number = quantity(
        0.0,
        0,
        1,
        unit="",
        means="How much colour noise is taken out; the same value means the same at every ISO.",
    )


class Grain(Section):
    """Grain laid over the finished picture."""

    rms_granularity: Number = quantity(
        0.0,
        0,
        50,
        unit="RMS",
        means="Diffuse RMS granularity x 1000, as film data sheets state it; more is rougher.",
    )
    pitch_um: Number = quantity(
        8.0, 2, 40, unit="um", means="Size of the grain on a 36 x 24 mm frame; larger is coarser."
    )


class Finish(Section):
    """The last touch before the picture is encoded."""

    acutance: Number = quantity(
        0.0, 0, 1, unit="", means="Edge contrast; larger is crisper, 0 leaves it alone."
    )


def _whole(value: Any) -> Any:
    if type(value) is not int:
        raise PydanticCustomError("int_type", "a whole number is expected")
    return value


class Recipe(Section):
    """One declarative look; an empty recipe is neutral.

    Examples
    --------
    >>> Recipe(exposure=Exposure(ev=0.5)).exposure.ev
    0.5
    >>> Recipe() == Recipe(curve=Curve(slope=1))
    True
    """

    format: Annotated[Literal[1], BeforeValidator(_whole)] = Field(
        1, description="Version of the recipe format."
    )
    name: Name | None = Field(
        None, description="Lower-case letters, digits and hyphens; absent, it is the file's stem."
    )
    about: str = Field(
        "",
        max_length=2000,
        pattern=r"^[^\x00-\x08\x0b-\x1f\x7f]*$",
        description="What the look is for and what it does, in the photographer's words.",
    )
    exposure: Exposure = Field(Exposure(), description=Exposure.__doc__)
    white: White = Field(White(), description=White.__doc__)
    curve: Curve = Field(Curve(), description=Curve.__doc__)
    chroma: Chroma = Field(Chroma(), description=Chroma.__doc__)
    split: Split = Field(Split(), description=Split.__doc__)
    mono: Mono | None = Field(None, description="Black and white; absent, the picture is in colour.")
    noise: Noise = Field(Noise(), description=Noise.__doc__)
    grain: Grain = Field(Grain(), description=Grain.__doc__)
    finish: Finish = Field(Finish(), description=Finish.__doc__)


NEUTRAL = Recipe()
"""The recipe that changes nothing: plain."""
