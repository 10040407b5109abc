"""The ledger's settings: tolerance bands of drift, print purposes, creator and rights, limits."""

from __future__ import annotations

from math import inf
from typing import Annotated, Any, Literal, Self, TypeAlias

from pydantic import BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

PATH = "settings.toml"


class SettingsSection(BaseModel):
    """Settings are data: frozen, and nothing unknown in them."""

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid", allow_inf_nan=True)


Amount = Annotated[float, Field(gt=0)]


class Tolerance(SettingsSection):
    """How much of one cause is noticed, and how much is too much; either sign may have its own pair.

    ``notice`` and ``over`` hold for both signs; ``notice_below`` and ``over_below``, where given, hold for
    amounts below zero instead; ``inf`` is never reached.
    """

    notice: Amount
    over: Amount
    notice_below: Amount | None = None
    over_below: Amount | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        for low, high in (self.for_sign(1.0), self.for_sign(-1.0)):
            if low >= high and not low == high == inf:
                raise ValueError(f"notice ({low:g}) must be smaller than over ({high:g})")
        return self

    def for_sign(self, amount: float) -> tuple[float, float]:
        """Notice and over for an amount of that sign."""
        if amount < 0:
            return self.notice_below or self.notice, self.over_below or self.over
        return self.notice, self.over


def _band(notice: float, over: float, *, below: float | None = None) -> Any:
    return Field(default=Tolerance(notice=notice, over=over, notice_below=below, over_below=below))


class Bands(SettingsSection):
    """One pair of tolerances for each cause of drift, in the unit of that cause."""

    exposure: Tolerance = _band(0.17, 0.35)
    contrast: Tolerance = _band(0.21, 0.42)
    white: Tolerance = _band(18.0, 40.0)
    duv: Tolerance = _band(3.0, 6.0)
    chroma: Tolerance = _band(0.25, 0.5)
    hue: Tolerance = _band(7.0, 14.0)
    hue_skin: Tolerance = _band(5.0, 10.0)
    hue_foliage: Tolerance = _band(7.0, 14.0)
    hue_sky: Tolerance = _band(7.0, 14.0)
    split_tint: Tolerance = _band(2.2, 4.6)
    clip_low: Tolerance = _band(1.5, 4.0, below=inf)
    clip_high: Tolerance = _band(1.5, 4.0, below=inf)
    detail_fine: Tolerance = _band(0.26, 0.5)
    detail_middling: Tolerance = _band(0.11, 0.23)
    detail_broad: Tolerance = _band(0.05, 0.11)
    residual: Tolerance = _band(2.5, 5.0)

    def limits(self) -> dict[str, tuple[float, float, float, float]]:
        """Notice and over, then notice and over below zero, by cause."""
        tolerances: dict[str, Tolerance] = dict(self)
        return {key: (*band.for_sign(1.0), *band.for_sign(-1.0)) for key, band in tolerances.items()}


class Purpose(SettingsSection):
    """What a print is for: how large, and how it is written.

    ``ceiling_bytes`` lowers the quality until the file is no larger; ``acutance`` is added at the size of the
    print, on top of the recipe's.
    """

    long_edge: Annotated[int, Field(ge=16, le=65_500)] | None = None
    encoding: Literal["jpeg", "tiff"] = "jpeg"
    quality: Annotated[int, Field(ge=1, le=100)] | None = None
    ceiling_bytes: Annotated[int, Field(ge=20_000, le=1_000_000_000)] | None = None
    acutance: Annotated[float, Field(ge=0, le=1)] = 0.0
    space: Literal["srgb", "display-p3"] = "srgb"

    @model_validator(mode="after")
    def _a_tiff_loses_nothing(self) -> Self:
        if self.encoding == "tiff" and (self.quality is not None or self.ceiling_bytes is not None):
            raise ValueError('a TIFF has neither quality nor ceiling_bytes; encoding = "jpeg" has')
        return self


class Credit(SettingsSection):
    """Who made the pictures, written into every print; empty: nothing is written."""

    creator: Annotated[str, Field(max_length=200)] = ""
    rights: Annotated[str, Field(max_length=500)] = ""
    caption: Annotated[str, Field(max_length=2000)] = ""


Bias = Annotated[float, Field(ge=-5, le=5)]
LightValue = Annotated[float, Field(ge=-10, le=25)]


class Practice(SettingsSection):
    """Rules of thumb for exposing, common practice all of them, which ``shoot`` holds exposure data against.

    Light values are EV at ISO 100; exposure bias is in EV.
    """

    people_s: Annotated[float, Field(gt=0, le=60)] = 1 / 200
    hand_held: Annotated[float, Field(gt=0, le=64)] = 1.0
    iso_ceiling: Annotated[int, Field(ge=1, le=10_000_000)] = 6400
    sun_ev: Bias = -0.3
    grey_ev: Bias = 0.3
    night_ev: Annotated[tuple[Bias, Bias], Field(strict=False)] = (-2.0, -1.0)
    snow_or_fog_ev: Bias = 1.0
    sun_from: LightValue = 14.0
    grey_between: Annotated[tuple[LightValue, LightValue], Field(strict=False)] = (11.0, 13.5)
    night_below: LightValue = 9.0

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        (least, most), (low, high) = self.night_ev, self.grey_between
        if least > most:
            raise ValueError(f"night_ev: {least:g} must not be above {most:g}")
        if not self.night_below <= low < high <= self.sun_from:
            raise ValueError("night_below, grey_between and sun_from must follow one another upwards")
        return self


class Limits(SettingsSection):
    """What one batch may use."""

    workers: Annotated[int, Field(ge=1, le=1024)] | None = None
    decode_seconds: Annotated[float, Field(gt=0, le=3600)] = 60.0
    decode_megabytes: Annotated[int, Field(ge=256, le=1_000_000)] = 4096


NamePart: TypeAlias = Literal["date", "frame", "recipe", "version", "purpose", "size"]
"""What the name of a print is made of."""


class Settings(SettingsSection):
    """Everything in a ledger's ``settings.toml``; an empty file is all defaults."""

    format: Annotated[int, Field(ge=1, le=1)] = 1
    file_name: Annotated[tuple[NamePart, ...], Field(strict=False)] = (
        "frame",
        "recipe",
        "version",
        "purpose",
        "size",
    )
    bands: Bands = Bands()
    purposes: dict[Annotated[str, Field(pattern="^[a-z0-9][a-z0-9-]{0,63}$")], Purpose] = Field(
        default_factory=dict
    )
    credit: Credit = Credit()
    limits: Limits = Limits()
    practice: Practice = Practice()

    @model_validator(mode="after")
    def _a_name_tells_frames_apart(self) -> Self:
        if "frame" not in self.file_name or len(set(self.file_name)) < len(self.file_name):
            raise PydanticCustomError(
                "refused",
                '"frame" must be one of its parts, and none may come twice',
                {"field": "file_name", "hint": 'file_name = ["frame", "recipe", "version"]'},
            )
        return self


def parse_settings(text: str, *, source: str) -> Settings:
    """Read settings from TOML.

    Raises
    ------
    RecipeError
        ``settings-...``: names file, line, field, what was given and what is allowed.
    """
    from driftline.recipe import parse_as  # noqa: PLC0415  (the parser is only needed when settings are read)

    return parse_as(Settings, text, source=source, kind="settings")


_UNITS = {
    "exposure": "EV at middle grey, + is brighter",
    "contrast": "log2 of the slope, + is harder",
    "white": "mired, + is warmer",
    "duv": "1e-3 off the Planckian locus, + is greener",
    "chroma": "log2 ratio, + is more colourful",
    "hue": "degrees, all colours together",
    "hue_skin": "degrees, skin",
    "hue_foliage": "degrees, foliage",
    "hue_sky": "degrees, sky",
    "split_tint": "tint between the zones of lightness",
    "clip_low": "percentage points newly black; fewer are no fault",
    "clip_high": "percentage points newly clipped; fewer are no fault",
    "detail_fine": "log2 of local contrast, finest scale",
    "detail_middling": "log2 of local contrast, middling scale",
    "detail_broad": "log2 of local contrast, broad scale",
    "residual": "CIEDE2000 that none of the others explains",
}

_HEAD = """\
# Settings of this ledger. They are versioned like the recipes. Whatever is left out has the value shown here.

format = 1

# What prints are called: parts joined by hyphens, out of date, frame, recipe, version, purpose and size.
# A part that has no value is left out; names that would be alike get the beginning of the fingerprint.
file_name = ["frame", "recipe", "version", "purpose", "size"]

# How much drift is noticed (from there on "leaning") and how much is too much ("overdone").
# notice_below and over_below, where given, hold for amounts below zero instead; inf is never reached.
[bands]
"""

_TAIL = """
# What prints are for: apply --purpose NAME. There are display, feed, portfolio, lab and archive; one of the
# same name here takes its place. Each may have: long_edge (pixels), encoding ("jpeg", or "tiff" of 16 bits),
# quality (1 to 100), ceiling_bytes (quality goes down until the file is no larger), acutance (0 to 1, added
# at the size of the print), space ("srgb" or "display-p3").
[purposes.screen]
long_edge = 2048
quality = 88
acutance = 0.15

[purposes.paper]
quality = 95

# Written into every print; left empty, nothing is written.
[credit]
creator = ""
rights = ""
caption = ""

[limits]
decode_seconds = 60.0       # a raw file that takes longer to decode is given up
decode_megabytes = 4096     # and one that wants more memory than that
# workers = 4               # frames developed at once; left out: as many as this machine has processors

# Rules of thumb for exposing, common practice all of them. shoot says where a frame lies outside; it never
# judges a picture. Light values are EV at ISO 100, as the exposure itself tells them.
[practice]
people_s = 0.005            # people in the street: no slower than 1/200 s
hand_held = 1.0             # and never slower than this over the focal length that 35 mm film would need
iso_ceiling = 6400
sun_ev = -0.3               # exposure bias in harsh sun,
grey_ev = 0.3               #   on a grey day,
night_ev = [-2.0, -1.0]     #   at night,
snow_or_fog_ev = 1.0        #   in snow or fog
sun_from = 14.0             # a light value from here on is sun,
grey_between = [11.0, 13.5] #   between these a grey day, fog or shade,
night_below = 9.0           #   below this night
"""


def default_settings_text() -> str:
    """The ``settings.toml`` of a new ledger, with comments that explain it."""
    lines = []
    for key, unit in _UNITS.items():
        band = getattr(Bands(), key).model_dump(exclude_none=True)
        entry = f"{key} = {{ {', '.join(f'{name} = {value}' for name, value in band.items())} }}"
        lines.append(f"# {unit}\n{entry}\n")
    return _HEAD + "".join(lines) + _TAIL
