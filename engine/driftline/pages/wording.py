"""Drift, kinds and times in words. Meaning is never left to a colour or a place alone."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from driftline.drift.causes import NAMES, UNITS, UNSIGNED
from driftline.pages.story import Amount, Version

_DIRECTIONS = {
    "exposure": ("lighter", "darker"),
    "contrast": ("steeper", "flatter"),
    "white": ("warmer", "cooler"),
    "duv": ("greener", "more magenta"),
    "chroma": ("more of it", "less of it"),
    "hue": ("turned from red towards yellow", "turned from yellow towards red"),
    "hue_skin": ("yellower", "redder"),
    "hue_foliage": ("bluer greens", "yellower greens"),
    "hue_sky": ("more violet", "more cyan"),
    "clip_low": ("more lost", "less lost"),
    "clip_high": ("more lost", "less lost"),
    "detail_fine": ("crisper", "softer"),
    "detail_middling": ("crisper", "softer"),
    "detail_broad": ("more relief", "flatter"),
}
_UNITS = {"deg": "°", "dE00": " ΔE00", "1e-3": " ×10⁻³ Duv", "100 z": "", "points": " points"}
_SIZES = frozenset(UNITS[key] for key in UNSIGNED)
_DIGITS = {"mired": 0, "deg": 1, "1e-3": 1, "100 z": 1, "points": 1, "dE00": 1}
_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def cause_name(key: str) -> str:
    """The plain name of a cause of drift."""
    return NAMES.get(key, key.replace("_", " "))


def number(value: float | None, unit: str) -> str:
    """A signed amount in its unit.

    Examples
    --------
    >>> number(-0.314, "EV"), number(12.0, "mired"), number(None, "EV")
    ('−0.31 EV', '+12 mired', 'none')
    >>> number(1.7, "100 z")  # a size, which has no sign
    '1.7'
    """
    if value is None:
        return "none"
    text = f"{abs(value):.{_DIGITS.get(unit, 2)}f}"
    sign = "" if not float(text) else "−" if value < 0 else "" if unit in _SIZES else "+"
    return f"{sign}{text}{_UNITS.get(unit, f' {unit}')}"


def amount_words(amount: Amount) -> str:
    """One cause in words: its name, the judged amount and which way the picture moved.

    Examples
    --------
    >>> amount_words(Amount("chroma", "log2", 0.0, 0.31, 0.31, 0.31, "leaning", 1.24))
    'colour +0.31 log2, more of it'
    >>> amount_words(Amount("hue", "deg", None, None, None, None, reason="too little colour"))
    'hues: not comparable, too little colour'
    """
    name = cause_name(amount.key)
    if not amount.comparable:
        return f"{name}: not comparable, {amount.reason}" if amount.reason else f"{name}: not comparable"
    if amount.judged is None:
        shown = f"{name} {number(amount.total, amount.unit)}, not judged"
        return f"{shown}: {amount.reason}" if amount.reason else shown
    words = f"{name} {number(amount.judged, amount.unit)}"
    up, down = _DIRECTIONS.get(amount.key, ("", ""))
    direction = up if amount.judged > 0 else down if amount.judged < 0 else ""
    return f"{words}, {direction}" if direction else words


def apart_words(amounts: Sequence[Amount]) -> tuple[str, ...]:
    """The causes that cannot be compared, those of one reason together.

    Examples
    --------
    >>> apart_words([Amount(key, "", None, None, None, None, reason="dark") for key in ("hue", "white")])
    ('nothing could be compared with the camera rendering: dark',)
    """
    names: dict[str, list[str]] = {}
    for amount in amounts:
        if not amount.comparable:
            names.setdefault(amount.reason, []).append(cause_name(amount.key))
    if len(names) == 1 and not any(amount.comparable for amount in amounts):
        (reason,) = names
        return (f"nothing could be compared with the camera rendering{': ' if reason else ''}{reason}",)
    return tuple(
        f"{listed(of_one)}: not comparable{', ' if reason else ''}{reason}"
        for reason, of_one in names.items()
    )


def distance_words(distance: float | None) -> str:
    """How far from the camera.

    Examples
    --------
    >>> distance_words(1.42), distance_words(0.0), distance_words(None)
    ('1.4 × notice', 'on the line', 'not measured')
    """
    if distance is None:
        return "not measured"
    return "on the line" if distance < 0.05 else f"{distance:.1f} × notice"


def later_words(later: date | None) -> str:
    """When a version was measured, if that was after it was saved.

    Examples
    --------
    >>> later_words(date(2031, 4, 9)), later_words(None)
    ('measured on 9 April 2031, as this proof was chosen after the save', '')
    """
    return "" if later is None else f"measured on {day(later)}, as this proof was chosen after the save"


def drift_words(amounts: Sequence[Amount], limit: int = 3) -> tuple[str, ...]:
    """The causes that stand farthest out, farthest first; those under a twentieth of notice are left out."""
    judged = sorted((a for a in amounts if a.judged is not None), key=lambda a: -a.ratio)
    return tuple(amount_words(a) for a in judged[:limit] if a.ratio >= 0.05)


def origin_words(version: Version) -> str:
    """How a version came about, when it is more than the next save."""
    parents = " and ".join(version.parents)
    sayings = {
        "fork": f"forked from {parents}",
        "blend": f"blended of {parents}",
        "merge": f"two copies brought together: {parents}",
        "restore": f"brought back from {parents}",
        "temper": f"softened from {parents}",
        "words": "words only, the picture is the same",
    }
    if version.kind == "version" and not version.parents:
        return "first version"
    return sayings.get(version.kind, "")


def day(when: date) -> str:
    """A day as it is written out.

    Examples
    --------
    >>> day(date(2031, 4, 9))
    '9 April 2031'
    """
    return f"{when.day} {_MONTHS[when.month - 1]} {when.year}"


def month(when: date) -> str:
    """A month as it is written out: ``April 2031``."""
    return f"{_MONTHS[when.month - 1]} {when.year}"


def span(first: date, last: date) -> str:
    """From one day to another, said once if they are the same."""
    return day(first) if day(first) == day(last) else f"{day(first)} to {day(last)}"


def count(number_of: int, thing: str) -> str:
    """A number of things: ``1 version``, ``3 versions``."""
    return f"{number_of} {thing}" if number_of == 1 else f"{number_of} {thing}s"


def listed(parts: Sequence[str]) -> str:
    """Several things as a sentence has them.

    Examples
    --------
    >>> listed(["a"]), listed(["a", "b"]), listed(["a", "b", "c"])
    ('a', 'a and b', 'a, b and c')
    """
    return " and ".join(part for part in (", ".join(parts[:-1]), *parts[-1:]) if part)
