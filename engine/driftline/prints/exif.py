"""EXIF by an allow-list (CIPA DC-008 / Exif 2.32): what is not named here is not in a print.

No maker notes, no serial numbers, no owner's name, no thumbnail, and no location unless one is handed over.
"""

from __future__ import annotations

import struct
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from driftline import __version__
from driftline.frames import ExposureData
from driftline.prints.directories import (
    ASCII,
    BYTE,
    LONG,
    LONG_ZERO,
    RATIONAL,
    SHORT,
    SRATIONAL,
    UNDEFINED,
    Tags,
    Value,
    directory,
)
from driftline.prints.icc import Space

_EXIF_IFD, _GPS_IFD = 0x8769, 0x8825
_MAKE, _MODEL, _ORIENTATION, _SOFTWARE = 0x010F, 0x0110, 0x0112, 0x0131
_SHUTTER, _APERTURE, _SENSITIVITY, _SENSITIVITY_TYPE, _ISO_SPEED = 0x829A, 0x829D, 0x8827, 0x8830, 0x8833
_VERSION, _TAKEN, _BIAS, _FOCAL, _FOCAL_35 = 0x9000, 0x9003, 0x9204, 0x920A, 0xA405
_SPACE, _WIDTH, _HEIGHT, _LENS = 0xA001, 0xA002, 0xA003, 0xA434
_SRGB, _UNCALIBRATED = 1, 0xFFFF
_ISO_SPEED_ONLY: Final = 3
_SHORT_LIMIT: Final = 0xFFFF


@dataclass(frozen=True)
class Location:
    """A place on WGS 84: degrees north and east, metres above sea level if known."""

    latitude: float
    longitude: float
    altitude_m: float | None = None


@dataclass(frozen=True)
class Exif:
    """The first directory, and those it points to, by the tag of the pointer."""

    camera: Tags
    inner: Mapping[int, Tags]


def exif_segment(exif: Exif) -> bytes:
    """The content of a JPEG file's EXIF segment, with its ``Exif`` mark."""
    start = 8 + len(directory({**exif.camera, **dict.fromkeys(exif.inner, LONG_ZERO)}, 0))
    pointers, rest = {}, b""
    for tag, tags in exif.inner.items():
        pointers[tag] = _long(start + len(rest))
        rest += directory(tags, start + len(rest))
    return b"Exif\0\0MM\0*" + struct.pack(">I", 8) + directory({**exif.camera, **pointers}, 8) + rest


def exif_of(
    known: ExposureData | None, *, size: tuple[int, int], space: Space, location: Location | None = None
) -> Exif:
    """What a print may say of its exposure.

    Parameters
    ----------
    known
        What is known of the exposure; None fields are left out.
    size
        (width, height) of the print in pixels.
    space
        sRGB is named as such; other spaces are "uncalibrated", and the ICC profile speaks for them.
    location
        Written only if given.

    Returns
    -------
    Exif
        Orientation is 1: the pixels are upright.
    """
    known = known or ExposureData()
    shot: Tags = {
        _VERSION: (UNDEFINED, b"0232"),
        _SHUTTER: _positive(known.shutter_s),
        _APERTURE: _positive(known.aperture),
        _TAKEN: _ascii(known.taken.strftime("%Y:%m:%d %H:%M:%S") if known.taken else None),
        _BIAS: _bias(known.bias_ev),
        _FOCAL: _positive(known.focal_mm),
        _FOCAL_35: _short(round(known.focal_35mm)) if known.focal_35mm else None,
        _LENS: _ascii(known.lens),
        _SPACE: _short(_SRGB if space == "srgb" else _UNCALIBRATED),
        _WIDTH: _long(size[0]),
        _HEIGHT: _long(size[1]),
        **_sensitivity(known.iso),
    }
    camera: Tags = {
        _MAKE: _ascii(known.make),
        _MODEL: _ascii(known.model),
        _ORIENTATION: _short(1),
        _SOFTWARE: _ascii(f"driftline {__version__}"),
    }
    return Exif(camera, {_EXIF_IFD: shot, **({_GPS_IFD: _gps(location)} if location else {})})


def _ascii(words: str | None) -> Value | None:
    """EXIF 2.32 texts are ASCII; other letters become question marks that every reader can read."""
    kept = words.encode("ascii", "replace").strip(b"\0 ") if words else b""
    return (ASCII, kept + b"\0") if kept else None


def _short(value: int) -> Value:
    return SHORT, struct.pack(">H", min(value, _SHORT_LIMIT))


def _long(value: int) -> Value:
    return LONG, struct.pack(">I", value)


def _positive(value: float | None) -> Value | None:
    """A positive number as the simplest fraction near it: 1/250, not 4000000/1000000000."""
    if value is None or not 0 < value < 1e6:
        return None
    if value < 0.3 and abs(round(1 / value) * value - 1) < 5e-3:
        return RATIONAL, struct.pack(">2I", 1, round(1 / value))
    near = Fraction(value).limit_denominator(1000)
    return RATIONAL, struct.pack(">2I", near.numerator, near.denominator)


def _bias(value: float | None) -> Value | None:
    if value is None or not -20 < value < 20:
        return None
    near = Fraction(value).limit_denominator(6)
    return SRATIONAL, struct.pack(">2i", near.numerator, near.denominator)


def _sensitivity(iso: float | None) -> dict[int, Value]:
    """PhotographicSensitivity is 16 bits wide; above that, ISOSpeed holds the number (Exif 2.32, 4.6.5)."""
    if iso is None or not 0 < iso < 1e9:
        return {}
    if round(iso) < _SHORT_LIMIT:
        return {_SENSITIVITY: _short(round(iso))}
    return {
        _SENSITIVITY: _short(_SHORT_LIMIT),
        _SENSITIVITY_TYPE: _short(_ISO_SPEED_ONLY),
        _ISO_SPEED: _long(round(iso)),
    }


def _gps(place: Location) -> Tags:
    altitude = place.altitude_m
    return {
        0: (BYTE, b"\2\3\0\0"),
        1: _ascii("N" if place.latitude >= 0 else "S"),
        2: _degrees(abs(place.latitude)),
        3: _ascii("E" if place.longitude >= 0 else "W"),
        4: _degrees(abs(place.longitude)),
        5: None if altitude is None else (BYTE, b"\0" if altitude >= 0 else b"\1"),
        6: None if altitude is None else (RATIONAL, struct.pack(">2I", round(abs(altitude) * 10), 10)),
    }


def _degrees(value: float) -> Value:
    minutes, hundredths = divmod(round(value * 360_000), 6000)
    degrees, minutes = divmod(minutes, 60)
    return RATIONAL, struct.pack(">6I", degrees, 1, minutes, 1, hundredths, 100)
