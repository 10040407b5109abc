"""What exposure data say against rules of thumb: plain facts, which never judge a picture.

The rules are common practice and stand in the ledger's settings (``[practice]``). No pixel is looked at.
"""

from __future__ import annotations

from math import log2
from typing import Final

from driftline.frames import ExposureData
from driftline.ledger.settings import Practice

_NOMINAL: Final = 1.08
"""Times on the dial are rounded: 1/60 s is 1/64 s, 1/15 s is 1/16 s (ISO 516)."""
_NEAR_EV: Final = 0.2
"""A third of a stop, the step of most cameras, is told from none; rounding is not."""


def light_value(seen: ExposureData) -> float | None:
    """The light that an exposure was made for, EV at ISO 100; None if a part of it is unknown.

    Parameters
    ----------
    seen
        Its exposure bias, which is in the exposure already, is taken out again.

    Notes
    -----
    ``log2(N² / t) − log2(ISO / 100) + bias`` (APEX; ISO 2720:1974). Full sun is 15, heavy overcast 12.

    Examples
    --------
    >>> round(light_value(ExposureData(aperture=16.0, shutter_s=1 / 125, iso=100.0)), 2)
    14.97
    """
    if not (seen.aperture and seen.shutter_s and seen.iso):
        return None
    return log2(seen.aperture**2 / seen.shutter_s) - log2(seen.iso / 100) + (seen.bias_ev or 0.0)


def hints(seen: ExposureData, practice: Practice) -> tuple[str, ...]:
    """Where an exposure lies outside common practice, each in a few words; the unknown is left out.

    Examples
    --------
    >>> hints(ExposureData(shutter_s=1 / 60, iso=12800.0, focal_35mm=28.0), Practice())
    ('1/60 s: slow for people', 'ISO 12800: over 6400')
    """
    return tuple(filter(None, (_shutter(seen, practice), _iso(seen, practice), _bias(seen, practice))))


def _shutter(seen: ExposureData, practice: Practice) -> str:
    if seen.shutter_s is None:
        return ""
    held = practice.hand_held / seen.focal_35mm if seen.focal_35mm else None
    slow_for = [
        "people" if seen.shutter_s > practice.people_s * _NOMINAL else "",
        f"{seen.focal_35mm:.0f} mm" if held and seen.shutter_s > held * _NOMINAL else "",
    ]
    said = " and ".join(filter(None, slow_for))
    return f"{shutter(seen.shutter_s)}: slow for {said}" if said else ""


def _iso(seen: ExposureData, practice: Practice) -> str:
    if seen.iso is None or seen.iso <= practice.iso_ceiling:
        return ""
    return f"ISO {seen.iso:.0f}: over {practice.iso_ceiling}"


def _bias(seen: ExposureData, practice: Practice) -> str:
    """What is usual in such light, unless it was done."""
    light, bias = light_value(seen), seen.bias_ev or 0.0
    if light is None:
        return ""
    snow = practice.snow_or_fog_ev
    low, high = practice.grey_between
    if light >= practice.sun_from:
        usual, words = [(practice.sun_ev, practice.sun_ev), (snow, snow)], "sun {}, snow {} EV"
    elif low <= light < high:
        usual, words = [(practice.grey_ev, practice.grey_ev), (snow, snow)], "grey {}, fog or snow {} EV"
    elif light < practice.night_below:
        usual, words = [practice.night_ev], "night {} EV"
    else:
        return ""
    if any(least - _NEAR_EV <= bias <= most + _NEAR_EV for least, most in usual):
        return ""
    return f"light {light:.0f}: " + words.format(*(_told(*each) for each in usual))


def _told(least: float, most: float) -> str:
    return f"{least:+g}" if least == most else f"{most:+g} to {least:+g}"


def shutter(seconds: float | None) -> str:
    """A shutter time as it is read off a dial.

    Examples
    --------
    >>> shutter(0.004), shutter(2.0), shutter(None)
    ('1/250 s', '2 s', '')
    """
    if not seconds:
        return ""
    return f"1/{round(1 / seconds)} s" if seconds < 0.4 else f"{seconds:.3g} s"
