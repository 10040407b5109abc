"""What drift is a list of: causes, each a signed number with a unit, or a reason why there is none."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any

UNITS: Mapping[str, str] = MappingProxyType(
    {
        "exposure": "EV",
        "contrast": "log2",
        "white": "mired",
        "duv": "1e-3",
        "chroma": "log2",
        "hue": "deg",
        "hue_skin": "deg",
        "hue_foliage": "deg",
        "hue_sky": "deg",
        "split_tint": "100 z",
        "clip_low": "points",
        "clip_high": "points",
        "detail_fine": "log2",
        "detail_middling": "log2",
        "detail_broad": "log2",
        "residual": "dE00",
    }
)
"""Every cause and its unit, in the order in which they are shown."""

NAMES: Mapping[str, str] = MappingProxyType(
    {
        "exposure": "exposure",
        "contrast": "contrast",
        "white": "white",
        "duv": "green to magenta",
        "chroma": "colour",
        "hue": "hues",
        "hue_skin": "skin hues",
        "hue_foliage": "foliage hues",
        "hue_sky": "sky hues",
        "split_tint": "split tone",
        "clip_low": "shadows",
        "clip_high": "highlights",
        "detail_fine": "fine detail",
        "detail_middling": "middling detail",
        "detail_broad": "broad detail",
        "residual": "the rest",
    }
)
"""What a photographer calls each cause."""

COLOUR_CAUSES = ("white", "duv", "chroma", "hue", "hue_skin", "hue_foliage", "hue_sky", "split_tint")
"""The causes that need colour in both pictures."""

UNSIGNED = frozenset({"split_tint", "residual"})
"""Causes that are sizes: they have no sign, and read the same whichever picture is the reference."""

FLOORS: Mapping[str, float] = MappingProxyType(
    {
        "exposure": 0.03,
        "contrast": 0.02,
        "white": 3.0,
        "duv": 1.0,
        "chroma": 0.03,
        "hue": 0.6,
        "hue_skin": 0.6,
        "hue_foliage": 0.6,
        "hue_sky": 0.6,
        "split_tint": 0.5,
        "clip_low": 1.3,
        "clip_high": 0.9,
        "detail_fine": 0.1,
        "detail_middling": 0.03,
        "detail_broad": 0.03,
        "residual": 2.0,
    }
)
"""What is read when nothing was edited, from JPEG encoding and slight misregistration: the noise floors."""


def amount(value: float, unit: str) -> str:
    """A signed amount as it is read.

    Examples
    --------
    >>> amount(0.3, "EV"), amount(-1.0, "log2"), amount(2.5, "deg"), amount(1.2, "points")
    ('+0.30 EV', '× 0.50', '+2.5°', '+1.2 %')
    """
    if unit == "log2":
        return f"× {2**value:.2f}"
    form = _FORMS.get(unit, "{:+.2f} " + unit)
    return form.format(value)


_FORMS = {
    "mired": "{:+.0f} mired",
    "1e-3": "{:+.1f} × 10⁻³ Duv",
    "deg": "{:+.1f}°",
    "100 z": "{:.1f}",
    "points": "{:+.1f} %",
    "dE00": "ΔE00 {:.1f}",
}


@dataclass(frozen=True)
class Cause:
    """One cause of drift between two pictures.

    Attributes
    ----------
    key
        One of :data:`UNITS`.
    value
        Signed amount in ``unit``, + when the edited picture has more of it; None when not comparable.
    comparable
        False: the two pictures cannot be compared in this respect; ``reason`` says why.
    reason
        Why not comparable, or why not confident; empty otherwise.
    confident
        False: the number is shown, and never judged.
    verdict
        ``in keeping``, ``leaning``, ``overdone``, or ``not judged``.
    ratio
        Amount over its notice band; 0 when not judged.
    vector
        For split tint: the tint of the light tones less that of the dark ones, 100 z, as a complex number
        (real towards red, imaginary towards yellow); its size is ``value``. None for the others.
    """

    key: str
    value: float | None
    comparable: bool = True
    reason: str = ""
    confident: bool = True
    verdict: str = "not judged"
    ratio: float = 0.0
    vector: complex | None = None

    @property
    def unit(self) -> str:
        """The unit of ``value``."""
        return UNITS[self.key]

    @property
    def judgeable(self) -> bool:
        """Whether the number may be held against an edit."""
        return self.comparable and self.confident and self.value is not None

    def json(self) -> dict[str, Any]:
        """As one JSON object; the value is null when not comparable."""
        return {
            "value": self.value,
            "unit": self.unit,
            "verdict": self.verdict,
            "comparable": self.comparable,
            "confident": self.confident,
            "reason": self.reason,
        }


def not_comparable(key: str, reason: str) -> Cause:
    """A cause without a number, and why."""
    return Cause(key, None, comparable=False, reason=reason, confident=False)


@dataclass(frozen=True)
class Drift:
    """How far an edited picture stands from a reference, by cause.

    Attributes
    ----------
    causes
        Every key of :data:`UNITS`, in that order.
    verdict
        The strictest verdict of any cause; ``not judged`` when none could be judged.
    largest
        The cause with the largest amount against its notice band; None when nothing drifted or was judged.
    registration
        How the two pictures were brought together, and how well.
    compared_share
        Share of the common area that was compared: neither picture near clipping there, 0 … 1.
    clipped_where
        For ``clip_low`` and ``clip_high``: where most of what is newly clipped lies, in words.
    """

    causes: Mapping[str, Cause]
    verdict: str = "not judged"
    largest: str | None = None
    registration: Any = None
    compared_share: float = 0.0
    clipped_where: Mapping[str, str] = field(default_factory=dict)

    def value(self, key: str) -> float | None:
        """The amount of one cause, None when not comparable."""
        return self.causes[key].value

    def json(self) -> dict[str, Any]:
        """As one JSON object."""
        return {
            "verdict": self.verdict,
            "largest": self.largest,
            "causes": {key: cause.json() for key, cause in self.causes.items()},
        }


def ordered(causes: Iterable[Cause]) -> Mapping[str, Cause]:
    """Causes by key, in the order in which they are shown."""
    by_key = {cause.key: cause for cause in causes}
    return MappingProxyType({key: by_key[key] for key in UNITS})


def all_not_comparable(reason: str) -> Mapping[str, Cause]:
    """Every cause without a number, for one reason."""
    return ordered(not_comparable(key, reason) for key in UNITS)


def without(causes: Mapping[str, Cause], reasons: Mapping[str, str]) -> Mapping[str, Cause]:
    """The same causes, those in ``reasons`` without a number."""
    return ordered(not_comparable(key, reasons[key]) if key in reasons else c for key, c in causes.items())


def unsure(cause: Cause, reason: str) -> Cause:
    """The same number, shown but not judged."""
    return replace(cause, confident=False, reason=reason) if cause.comparable else cause
