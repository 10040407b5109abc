"""Changes of a recipe in the words of a photographer."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import groupby
from math import cos, radians
from typing import NamedTuple

from driftline.recipe.differences import Change
from driftline.recipe.fields import Value, generic_path

WARM_HUE = 80.0
"""OkLCh hue in which the daylight locus leaves D65 towards warmer light (79 to 81 degrees, computed)."""

LOWEST_TURN = 0.005


class Phrase(NamedTuple):
    """How one number is said: what comes before it, its decimals, whether it carries a sign, and its unit."""

    label: str
    decimals: int
    signed: bool = False
    unit: str = ""
    up: str = ""
    down: str = ""


PHRASES = {
    "exposure.ev": Phrase("exposure", 2, True, " EV"),
    "exposure.anchor": Phrase("exposure starts from", 0),
    "white.shift": Phrase("shift", 0, True, " mired", "white warmer", "white colder"),
    "white.kelvin": Phrase("", 0, False, " K", "white warmer", "white colder"),
    "white.duv": Phrase("duv", 4, True, "", "white greener", "white more magenta"),
    "curve.slope": Phrase("contrast", 2),
    "curve.toe": Phrase("toe", 2, True, "", "shadows closed", "shadows opened"),
    "curve.shoulder": Phrase("shoulder", 2, True, "", "highlights gentler", "highlights harder"),
    "chroma.scale": Phrase("chroma", 2, False, "", "more colourful", "less colourful"),
    "chroma.band.*.hue": Phrase("hue", 0, False, "°"),
    "chroma.band.*.width": Phrase("width", 0, False, "°"),
    "chroma.band.*.turn": Phrase("turn", 0, True, "°"),
    "chroma.band.*.scale": Phrase("chroma", 2),
    "chroma.band.*.lightness": Phrase("lightness", 2, True),
    "split.low.hue": Phrase("hue", 0, False, "°"),
    "split.low.chroma": Phrase("chroma", 3),
    "split.high.hue": Phrase("hue", 0, False, "°"),
    "split.high.chroma": Phrase("chroma", 3),
    "split.pivot": Phrase("tints meet at lightness", 2),
    "split.spread": Phrase("tints overlap by lightness", 2),
    "noise.chroma": Phrase("colour noise taken out", 2),
    "grain.rms_granularity": Phrase("grain", 1, False, " RMS"),
    "grain.pitch_um": Phrase("grain size", 1, False, " µm"),
    "finish.acutance": Phrase("acutance", 2),
}


def in_words(changes: Iterable[Change]) -> list[str]:
    """One short phrase for each thing that changed, in the order given.

    Examples
    --------
    >>> in_words([Change("exposure.ev", 0.35, 0.5, "EV"), Change("split.low.hue", 240.0, 255.0, "deg")])
    ['exposure +0.35 → +0.50 EV', 'shadows colder: split.low hue 240° → 255°']
    """
    phrases = []
    for subject, group in groupby(changes, key=lambda change: _subject(change.field)):
        found = {change.field: change for change in group}
        phrases += _SAID_TOGETHER.get(subject.split(":")[0], _one_by_one)(found)
    return phrases


def _subject(path: str) -> str:
    if path in {"white.shift", "white.kelvin"}:
        return "white"
    if path.startswith("mono."):
        return "mono"
    parts = path.split(".")
    return f"{parts[0]}:{path.rpartition('.')[0]}" if len(parts) > 2 else path


def _one_by_one(changes: dict[str, Change]) -> list[str]:
    return [_said(change) for change in changes.values()]


def _said(change: Change) -> str:
    phrase = PHRASES[generic_path(change.field)]
    moved = _moved(phrase, change.before, change.after)
    up = isinstance(change.before, float) and isinstance(change.after, float) and change.after > change.before
    direction = phrase.up if up else phrase.down
    return f"{direction}: {moved}" if direction else moved


def _moved(phrase: Phrase, before: Value, after: Value) -> str:
    """``contrast 1.10 → 1.20``, with as many decimals as it takes to tell the two apart."""
    for decimals in range(phrase.decimals, phrase.decimals + 8):
        old, new = _number(phrase, before, decimals), _number(phrase, after, decimals)
        if old != new:
            break
    if phrase.unit != "°":
        return f"{phrase.label} {old} → {new}{phrase.unit}".strip()
    return f"{phrase.label} {old}° → {new}°"


def _number(phrase: Phrase, value: Value, decimals: int) -> str:
    if not isinstance(value, float):
        return "off" if value is None else str(value)
    return f"{value:{'+' if phrase.signed and value else ''}.{decimals}f}"


def _alone(phrase: Phrase, value: Value) -> str:
    decimals = next(n for n in range(phrase.decimals, 18) if n == 17 or round(float(value), n) == value)  # type: ignore[arg-type]
    return f"{phrase.label} {_number(phrase, value, decimals)}{phrase.unit}"


def _white(changes: dict[str, Change]) -> list[str]:
    kelvin = changes.get("white.kelvin")
    if kelvin is None or (kelvin.before is not None and kelvin.after is not None):
        return _one_by_one(changes)
    shift = changes.get("white.shift")
    if kelvin.before is None:
        old = _alone(PHRASES["white.shift"], shift.before) if shift else "as shot"
        return [f"white: {old} → {kelvin.after:.0f} K"]
    new = _alone(PHRASES["white.shift"], shift.after) if shift else "as shot"
    return [f"white: {kelvin.before:.0f} K → {new}"]


def _mono(changes: dict[str, Change]) -> list[str]:
    before, after = ([getattr(change, side) for change in changes.values()] for side in ("before", "after"))
    return [f"black and white: {mono_in_words(before)} → {mono_in_words(after)}"]


def mono_in_words(values: list[Value]) -> str:
    """What ``mono.filter`` and ``mono.weights`` say together."""
    value = next((value for value in values if value is not None), None)
    if value is None:
        return "off"
    if isinstance(value, tuple):
        return "weights " + " ".join(f"{weight:g}" for weight in value)
    return "no filter" if value == "none" else f"{value} filter"


def _band(changes: dict[str, Change]) -> list[str]:
    head = next(iter(changes)).split(".")[2]
    parts = {path.rpartition(".")[2]: change for path, change in changes.items()}
    hue = parts.get("hue")
    if hue is not None and hue.after is None:
        return [f"band {head} taken out ({_alone(PHRASES['chroma.band.*.hue'], hue.before)})"]
    phrases = {key: PHRASES[f"chroma.band.*.{key}"] for key in parts}
    if hue is not None and hue.before is None:
        listed = [_alone(phrases[key], change.after) for key, change in parts.items()]
        return [f"band {head} added: {', '.join(listed)}"]
    moved = [_moved(phrases[key], change.before, change.after) for key, change in parts.items()]
    return [f"band {head}: {', '.join(moved)}"]


def _tint(changes: dict[str, Change]) -> list[str]:
    tint = next(iter(changes)).rpartition(".")[0]
    zone = "shadows" if tint == "split.low" else "highlights"
    hue, chroma = changes.get(f"{tint}.hue"), changes.get(f"{tint}.chroma")
    if hue and chroma and chroma.before == 0:
        listed = [_alone(PHRASES[change.field], change.after) for change in (hue, chroma)]
        return [f"{zone} toned: {tint} {', '.join(listed)}"]
    if hue and chroma and chroma.after == 0:
        hue = None  # of no colour at all
    moved = [
        _moved(PHRASES[change.field], change.before, change.after)
        for change in (hue, chroma)
        if change is not None
    ]
    return [f"{zone} {_way(hue, chroma)}: {tint} {', '.join(moved)}"]


def _way(hue: Change | None, chroma: Change | None) -> str:
    """Which way a tint went. Strength decides where hue did not move, warmth where it did."""
    if chroma is not None and chroma.after == 0:
        return "no longer toned"
    if hue is None and chroma is not None:
        return "toned more" if _float(chroma.after) > _float(chroma.before) else "toned less"
    assert hue is not None
    strengths = (1.0, 1.0) if chroma is None else (_float(chroma.before), _float(chroma.after))
    before, after = (
        strength * cos(radians(_float(angle) - WARM_HUE))
        for strength, angle in zip(strengths, (hue.before, hue.after), strict=True)
    )
    if abs(after - before) < LOWEST_TURN * max(strengths):
        return "turned"
    return "warmer" if after > before else "colder"


def _float(value: Value) -> float:
    assert isinstance(value, float)
    return value


_SAID_TOGETHER: dict[str, Callable[[dict[str, Change]], list[str]]] = {
    "white": _white,
    "mono": _mono,
    "chroma": _band,
    "split": _tint,
}
