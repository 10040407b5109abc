"""Exposure data: what the file says, its statements checked against one another; unknown stays unknown."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from driftline.frames import tags as exif
from driftline.frames.tags import Tags

_TAGS = {
    "iso": ("EXIF ISOSpeedRatings",),
    "shutter_s": ("EXIF ExposureTime", "EXIF ShutterSpeedValue"),
    "aperture": ("EXIF FNumber", "EXIF ApertureValue"),
    "focal_mm": ("EXIF FocalLength",),
    "taken": ("EXIF DateTimeOriginal",),
}
_SETTINGS = ("Image Tag 0xC6F6", "MakerNote CreativeStyle", "MakerNote PictureMode")  # first: DNG's own


@dataclass(frozen=True)
class ExposureData:
    """What is known of how a frame was taken; None is unknown.

    Attributes
    ----------
    make, model, lens
        As the camera writes them.
    iso
        ISO speed.
    shutter_s
        Exposure time in seconds.
    aperture
        F-number.
    focal_mm, focal_35mm
        Focal length, and its equivalent on 36 × 24 mm, in millimetres.
    bias_ev
        Exposure bias that the photographer asked for, in EV; it is in the picture already.
    taken
        Local time of the camera, without a time zone.
    setting
        In-camera picture setting, in the camera's words.
    doubts
        What was found but is not relied on, in words.
    """

    make: str | None = None
    model: str | None = None
    lens: str | None = None
    iso: float | None = None
    shutter_s: float | None = None
    aperture: float | None = None
    focal_mm: float | None = None
    focal_35mm: float | None = None
    bias_ev: float | None = None
    taken: datetime | None = None
    setting: str | None = None
    doubts: tuple[str, ...] = ()


def needs_decoder(file_tags: Tags, preview_tags: Tags) -> bool:
    """Whether EXIF is silent on something that the decoder may know."""
    stated = {**preview_tags, **file_tags}
    return not all(any(tag in stated for tag in tags) for tags in _TAGS.values())


def read_exposure(file_tags: Tags, preview_tags: Tags, facts: Mapping[str, Any]) -> ExposureData:
    """Exposure data from EXIF of the raw, or else of its JPEG, or else from the decoder.

    A quantity that EXIF names but leaves at 0 is unknown: the decoder's reading of such a file is not taken,
    since it turns the APEX value 0 into 1 s and f/1 (measured).

    Parameters
    ----------
    file_tags, preview_tags
        EXIF of the raw file, and what the camera wrote into its embedded JPEG.
    facts
        The decoder's own reading; empty if it was not asked or cannot read the file.
    """
    doubts: list[str] = []
    stated = {**preview_tags, **file_tags}
    reading = _Reading(stated, facts, doubts)
    _compare(file_tags, preview_tags, doubts)
    return ExposureData(
        make=exif.text(stated, "Image Make") or facts.get("make"),
        model=exif.text(stated, "Image Model") or facts.get("model"),
        lens=exif.text(stated, "EXIF LensModel", "MakerNote LensModel") or facts.get("lens") or None,
        iso=reading.iso(),
        shutter_s=reading.shutter(),
        aperture=reading.aperture(),
        focal_mm=reading.plausible(
            "focal length",
            exif.positive(stated, "EXIF FocalLength") or reading.decoded("focal_mm"),
            lambda mm: 0.5 <= mm <= 5000,
        ),
        focal_35mm=exif.positive(stated, "EXIF FocalLengthIn35mmFilm"),
        bias_ev=reading.plausible(
            "exposure bias", exif.number(stated, "EXIF ExposureBiasValue"), lambda ev: abs(ev) <= 10
        ),
        taken=exif.moment(stated) or reading.decoded_moment(),
        setting=exif.text(stated, *_SETTINGS),
        doubts=tuple(doubts),
    )


@dataclass(frozen=True)
class _Reading:
    """EXIF, the decoder's reading where EXIF is silent, and the doubts that come up."""

    stated: Tags
    facts: Mapping[str, Any]
    doubts: list[str]

    def decoded(self, name: str) -> float | None:
        value = None if any(tag in self.stated for tag in _TAGS[name]) else self.facts.get(name)
        return float(value) if value and math.isfinite(value) and value > 0 else None

    def decoded_moment(self) -> datetime | None:
        words = None if "EXIF DateTimeOriginal" in self.stated else self.facts.get("taken")
        taken = datetime.fromisoformat(words).replace(tzinfo=None) if words else None
        return taken if taken is not None and taken.year > 1970 else None

    def plausible(self, name: str, value: float | None, holds: Callable[[float], bool]) -> float | None:
        if value is None or holds(value):
            return value
        self.doubts.append(f"{name} reads {value:.4g}, which cannot be; taken as unknown")
        return None

    def iso(self) -> float | None:
        """ISO speed; 65535 in the tag of two bytes means that it stands in another (EXIF 2.3)."""
        value = exif.positive(self.stated, "EXIF ISOSpeedRatings")
        if value is None or value >= 65535:
            other = exif.positive(self.stated, "EXIF RecommendedExposureIndex")
            value = other or exif.positive(self.stated, "EXIF ISOSpeed") or value
        value = value or self.decoded("iso")
        return self.plausible("ISO", value, lambda iso: 1 <= iso <= 10_000_000 and iso != 65535)

    def aperture(self) -> float | None:
        """F-number N, checked against the APEX value Av: N = 2^(Av / 2)."""
        stated = exif.positive(self.stated, "EXIF FNumber")
        apex = exif.positive(self.stated, "EXIF ApertureValue")
        by_apex = 2 ** (apex / 2) if apex and apex < 20 else None
        if stated and by_apex and abs(math.log2(stated / by_apex)) > 0.25:
            self.doubts.append(
                f"aperture is {stated:.3g} in EXIF, but {by_apex:.3g} by its APEX value; the first is taken"
            )
        value = stated or by_apex or self.decoded("aperture")
        return self.plausible("aperture", value, lambda n: 0.5 <= n <= 128)

    def shutter(self) -> float | None:
        """Exposure time t, checked against the APEX value Tv: t = 2^-Tv.

        What the decoder alone reads is left unknown where it would be an ordinary Tv as well as an ordinary
        time, since nothing tells the two apart.
        """
        stated = exif.positive(self.stated, "EXIF ExposureTime")
        apex = exif.number(self.stated, "EXIF ShutterSpeedValue")
        by_apex = 2.0**-apex if apex and abs(apex) < 32 else None
        if stated and by_apex and abs(math.log2(stated / by_apex)) > 0.5:
            self.doubts.append(
                f"shutter is {_seconds(stated)} in EXIF, but {_seconds(by_apex)} by its APEX value;"
                " the first is taken"
            )
        decoded = None if stated or by_apex else self.decoded("shutter_s")
        if decoded and 1 <= decoded <= 14:
            self.doubts.append(
                f"shutter reads {decoded:.4g}, which may be seconds or an APEX value"
                f" ({_seconds(2.0**-decoded)}), and nothing here tells which; taken as unknown"
            )
            return None
        return self.plausible("shutter", stated or by_apex or decoded, lambda t: 1e-6 <= t <= 86_400)


def _compare(file_tags: Tags, own: Tags, doubts: list[str]) -> None:
    """Say where the raw's EXIF and that of its own JPEG disagree."""
    for name in ("EXIF ExposureTime", "EXIF FNumber", "EXIF ISOSpeedRatings", "EXIF FocalLength"):
        one, other = exif.positive(file_tags, name), exif.positive(own, name)
        if one and other and abs(math.log2(one / other)) > 0.1:
            words = name.removeprefix("EXIF ")
            doubts.append(f"{words} is {one:.4g} in the raw, but {other:.4g} in its JPEG; the raw's is taken")


def _seconds(value: float) -> str:
    return f"1/{1 / value:.0f} s" if value < 0.3 else f"{value:.3g} s"
