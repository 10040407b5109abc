"""Exposure data: what the file says, checked against one another; unknown stays unknown."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from driftline.frames import tags as exif
from driftline.frames.tags import Tags


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
        Local time of the camera.
    setting
        In-camera picture setting.
    doubts
        What was found but cannot be relied on, in words.
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


def read_exposure(file_tags: Tags, preview_tags: Tags, facts: dict[str, Any]) -> ExposureData:
    """Exposure data from EXIF, of the raw or else of its JPEG, checked against the decoder's reading.

    Parameters
    ----------
    file_tags, preview_tags
        EXIF of the raw file, and of its embedded JPEG if the camera wrote one.
    facts
        The decoder's facts; empty if it cannot open the file.
    """
    doubts: list[str] = []
    known = "EXIF ExposureTime" in file_tags or "EXIF FNumber" in file_tags
    decoded = {} if known else facts  # a 0 in EXIF is "unknown"; the decoder would read it as an APEX value
    written_by_camera = not (exif.text(preview_tags, "Image Software") or "").startswith("dcraw ")
    stated = file_tags
    if written_by_camera and not exif.text(file_tags, "Image Model", "EXIF ExposureTime"):
        stated = preview_tags
    return ExposureData(
        make=exif.text(stated, "Image Make") or exif.text(preview_tags, "Image Make"),
        model=exif.text(stated, "Image Model") or exif.text(preview_tags, "Image Model"),
        lens=exif.text(stated, "EXIF LensModel", "MakerNote LensModel") or facts.get("lens") or None,
        iso=_settle("ISO", "", _iso(stated), decoded.get("iso"), doubts, _plausible_iso),
        shutter_s=_shutter(stated, decoded.get("shutter_s"), doubts),
        aperture=_settle(
            "aperture", "", _aperture(stated), decoded.get("aperture"), doubts, _plausible_aperture
        ),
        focal_mm=_settle(
            "focal length",
            " mm",
            exif.positive(stated, "EXIF FocalLength"),
            decoded.get("focal_mm"),
            doubts,
            _plausible_focal,
        ),
        focal_35mm=exif.positive(stated, "EXIF FocalLengthIn35mmFilm"),
        bias_ev=_bias(stated, doubts),
        taken=_taken(stated, decoded.get("taken"), doubts),
        setting=_setting(stated),
        doubts=tuple(doubts),
    )


def has_exposure(stated: Tags) -> bool:
    """Whether EXIF alone says how the frame was exposed, so that the decoder need not be asked."""
    return all(
        exif.positive(stated, name) for name in ("EXIF ExposureTime", "EXIF FNumber", "EXIF ISOSpeedRatings")
    )


def _settle(
    name: str,
    unit: str,
    stated: float | None,
    decoded: float | None,
    doubts: list[str],
    plausible: Callable[[float], bool],
) -> float | None:
    """One quantity from two readings: the stated one counts, a disagreement is said."""
    decoded = decoded if decoded and math.isfinite(decoded) and decoded > 0 else None
    value = stated if stated is not None else decoded
    if value is None:
        return None
    if not plausible(value):
        doubts.append(f"{name} reads {value:.4g}{unit}, which cannot be; taken as unknown")
        return None
    if stated is not None and decoded is not None and abs(math.log(stated / decoded)) > 0.1:
        doubts.append(
            f"{name} is {stated:.4g}{unit} in EXIF but {decoded:.4g}{unit} to the decoder; EXIF's is taken"
        )
    return value


def _plausible_iso(value: float) -> bool:
    return 1 <= value <= 10_000_000


def _plausible_aperture(value: float) -> bool:
    return 0.5 <= value <= 128


def _plausible_focal(value: float) -> bool:
    return 0.5 <= value <= 5000


def _iso(stated: Tags) -> float | None:
    """ISO speed; 65535 in the two-byte tag means that it is in another."""
    value = exif.positive(stated, "EXIF ISOSpeedRatings")
    if value is not None and value < 65535:
        return value
    return exif.positive(stated, "EXIF RecommendedExposureIndex") or exif.positive(stated, "EXIF ISOSpeed")


def _aperture(stated: Tags) -> float | None:
    """F-number, or else from the APEX value: N = 2^(Av / 2)."""
    apex = exif.positive(stated, "EXIF ApertureValue")
    return exif.positive(stated, "EXIF FNumber") or (None if apex is None else 2 ** (apex / 2))


def _shutter(stated: Tags, decoded: float | None, doubts: list[str]) -> float | None:
    """Exposure time in seconds, from EXIF's time, its APEX value (t = 2^-Tv), or the decoder.

    The decoder's reading alone cannot be told from an APEX value where both would be an ordinary time.
    """
    time, apex = exif.positive(stated, "EXIF ExposureTime"), exif.number(stated, "EXIF ShutterSpeedValue")
    from_apex = 2.0**-apex if apex and abs(apex) < 32 else None
    if time and from_apex and abs(math.log2(time / from_apex)) > 0.5:
        doubts.append(
            f"shutter is {_seconds(time)} in EXIF but {_seconds(from_apex)} by its APEX value; the first is taken"
        )
    known = time or from_apex
    if known is None and decoded and 1 <= decoded <= 14:
        doubts.append(
            f"shutter reads {decoded:.4g}, which may be seconds or an APEX value ({_seconds(2.0**-decoded)}),"
            " and there is nothing to check it against; taken as unknown"
        )
        return None
    return _settle("shutter", " s", known, decoded, doubts, lambda value: 1e-6 <= value <= 86_400)


def _seconds(value: float) -> str:
    return f"1/{1 / value:.0f} s" if value < 0.3 else f"{value:.3g} s"


def _bias(stated: Tags, doubts: list[str]) -> float | None:
    value = exif.number(stated, "EXIF ExposureBiasValue")
    if value is not None and abs(value) > 10:
        doubts.append(f"exposure bias reads {value:.4g} EV, which cannot be; taken as unknown")
        return None
    return value


def _taken(stated: Tags, decoded: str | None, doubts: list[str]) -> datetime | None:
    known = exif.moment(stated)
    other = datetime.fromisoformat(decoded) if decoded else None
    if other is not None and other.year <= 1970:
        other = None
    if known and other and abs((known - other.replace(tzinfo=None)).total_seconds()) > 2:
        doubts.append(
            f"taken {known:%Y-%m-%d %H:%M:%S} in EXIF but {other:%Y-%m-%d %H:%M:%S} to the decoder; EXIF's is taken"
        )
    return known or (other.replace(tzinfo=None) if other else None)


def _setting(stated: Tags) -> str | None:
    """The in-camera picture setting where a standard tag has it: a DNG's profile name."""
    return exif.text(stated, "Image Tag 0xC6F8")
