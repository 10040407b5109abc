"""Between two recipes, and between a recipe and neutral.

Ratios (slope, scales) mix in log, temperatures in mired, band hues and the tints of a split as Oklab a and
b, the rest linearly. Switches (mono, anchor, kelvin against shift) do not mix: the heavier side's, and it
is said. What one side does not use (the place of a band it has not, the pivot of a split without tints, the
pitch of no grain) is taken from the side that uses it. Mixed numbers are rounded to a ten-thousandth of
their range.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass, field

from driftline.errors import UsageError
from driftline.recipe.fields import (
    Value,
    field_spec,
    from_parameters,
    generic_path,
    neutral_value,
    parameters,
)
from driftline.recipe.model import Recipe
from driftline.recipe.words import mono_in_words

RATIOS = frozenset({"curve.slope", "chroma.scale", "chroma.band.*.scale"})
LEAST_RATIO = 0.05
"""A ratio below this counts as this while mixing: the log of 0 is no number."""

FAR_HUES = 60.0
STRONGEST = 3.0

Parameters = dict[str, Value]


def blend(a: Recipe, b: Recipe, weight: float) -> tuple[Recipe, tuple[str, ...]]:
    """The recipe that stands `weight` of the way from `a` to `b`, and notes on what could not be mixed.

    Weight 0 gives `a` and 1 gives `b`, exactly. In between the result has neither name nor about.

    Raises
    ------
    UsageError
        `weight` is not within 0 and 1.

    Examples
    --------
    >>> from driftline.recipe.model import Curve
    >>> blend(Recipe(), Recipe(curve=Curve(slope=1.44)), 0.5)[0].curve.slope
    1.2
    """
    if not 0 <= weight <= 1:
        raise UsageError("blend-weight", f"weight {weight}; allowed 0 to 1", hint="0.5 for half of each")
    if weight in (0, 1):
        return (b if weight else a), ()
    mix = _Mix(
        weight, *_filled(parameters(a), parameters(b)), names=(a.name or "the first", b.name or "the second")
    )
    return from_parameters(mix.mixed()), tuple(mix.notes)


def scaled(recipe: Recipe, strength: float, *, only: Collection[str] | None = None) -> Recipe:
    """The recipe made softer (below 1) or stronger (above 1); 0 leaves what is listed below, 1 is the recipe.

    Mono, grain and the anchor stay as they are, and so does a white given in kelvin, whose distance from
    as-shot is another one in every frame. Numbers stop at the ends of their ranges.

    Parameters
    ----------
    recipe
        The look.
    strength
        0 … 3; ratios are raised to this power, the rest is multiplied.
    only
        Sections to scale (``"curve"``, ``"split"``); the others stay. All, if absent.

    Examples
    --------
    >>> from driftline.recipe.model import Exposure
    >>> scaled(Recipe(exposure=Exposure(ev=0.5)), 0.5).exposure.ev
    0.25
    """
    if not 0 <= strength <= STRONGEST:
        raise UsageError(
            "scale-strength", f"strength {strength}; allowed 0 to 3", hint="0.5 for half of the look"
        )
    if strength == 1:
        return recipe
    values = parameters(recipe)
    changed = {
        path: _scaled_value(path, value, strength)
        for path, value in values.items()
        if _scales(path, values) and (only is None or path.partition(".")[0] in only)
    }
    return from_parameters(values | changed, name=recipe.name, about=recipe.about)


def _scales(path: str, values: Parameters) -> bool:
    section = path.partition(".")[0]
    if section == "white":
        return values["white.kelvin"] is None and path != "white.kelvin"
    if section == "split":
        return path.endswith(".chroma")
    place = generic_path(path) in {"chroma.band.*.hue", "chroma.band.*.width"}
    return section not in {"mono", "grain"} and path != "exposure.anchor" and not place


def _scaled_value(path: str, value: Value, strength: float) -> float:
    number = _float(value)
    if generic_path(path) in RATIOS:
        if number < LEAST_RATIO and strength > 1:
            return number
        return _fitted(path, max(number, LEAST_RATIO) ** strength)
    return _fitted(path, number * strength)


def _filled(a: Parameters, b: Parameters) -> tuple[Parameters, Parameters]:
    """Both sides with the same bands, and with the geometry of what only the other uses."""
    a, b = a | _places(a, b), b | _places(b, a)
    order = list(parameters(Recipe())) + sorted(path for path in a if path.startswith("chroma.band."))
    return {path: a[path] for path in order}, {path: b[path] for path in order}


def _places(mine: Parameters, other: Parameters) -> Parameters:
    taken: Parameters = {}
    for path, value in other.items():
        if path not in mine:
            neutral = neutral_value(path)
            taken[path] = value if neutral is None else neutral
    if not (mine["split.low.chroma"] or mine["split.high.chroma"]):
        taken |= {path: other[path] for path in ("split.pivot", "split.spread")}
    if not mine["grain.rms_granularity"]:
        taken["grain.pitch_um"] = other["grain.pitch_um"]
    return taken


@dataclass
class _Mix:
    weight: float
    a: Parameters
    b: Parameters
    names: tuple[str, str]
    notes: list[str] = field(default_factory=list)

    def mixed(self) -> Parameters:
        values = {path: self._one(path) for path in self.a}
        for tint in ("split.low", "split.high"):
            values |= self._tint(tint)
        return values | self._anchor() | self._white() | self._mono()

    def _one(self, path: str) -> Value:
        old, new = self.a[path], self.b[path]
        if old == new or not (isinstance(old, float) and isinstance(new, float)):
            return self._heavier()[path]
        if generic_path(path) == "chroma.band.*.hue":
            return self._hue(path, old, new)
        if generic_path(path) in RATIOS:
            logs = (math.log(max(old, LEAST_RATIO)), math.log(max(new, LEAST_RATIO)))
            return _fitted(path, math.exp(self._between(*logs)))
        return _fitted(path, self._between(old, new))

    def _between(self, old: float, new: float) -> float:
        return old + (new - old) * self.weight

    def _heavier(self) -> Parameters:
        return self.b if self.weight > 0.5 else self.a

    def _hue(self, path: str, old: float, new: float) -> float:
        hue, length = self._polar((old, 1.0), (new, 1.0))
        apart = abs((new - old + 180) % 360 - 180)
        result = _fitted(path, hue) if length > 1e-9 else _float(self._heavier()[path])
        if apart > FAR_HUES:
            name = path.split(".")[2]
            self.notes.append(
                f"band {name} stands at {old:g}° and at {new:g}°; the blend has it at {result:g}°"
            )
        return result

    def _tint(self, tint: str) -> Parameters:
        hue, chroma = f"{tint}.hue", f"{tint}.chroma"
        if all(self.a[path] == self.b[path] for path in (hue, chroma)):
            return {}
        ends = [(_float(side[hue]), _float(side[chroma])) for side in (self.a, self.b)]
        angle, length = self._polar(*ends)
        if length < 1e-9:
            return {hue: self._heavier()[hue], chroma: 0.0}
        return {hue: _fitted(hue, angle), chroma: _fitted(chroma, length)}

    def _polar(self, old: tuple[float, float], new: tuple[float, float]) -> tuple[float, float]:
        """Hue and chroma between two colours, mixed as Oklab a and b."""
        (old_a, old_b), (new_a, new_b) = (
            (c * math.cos(math.radians(h)), c * math.sin(math.radians(h))) for h, c in (old, new)
        )
        a, b = self._between(old_a, new_a), self._between(old_b, new_b)
        return math.degrees(math.atan2(b, a)) % 360, math.hypot(a, b)

    def _anchor(self) -> Parameters:
        path = "exposure.anchor"
        if self.a[path] != self.b[path]:
            self._note("exposure.anchor", f"{self._heavier()[path]}")
        return {path: self._heavier()[path]}

    def _white(self) -> Parameters:
        old, new = self.a["white.kelvin"], self.b["white.kelvin"]
        if isinstance(old, float) and isinstance(new, float):
            mired = self._between(1e6 / old, 1e6 / new)
            return {
                "white.kelvin": old if old == new else _fitted("white.kelvin", 1e6 / mired),
                "white.shift": 0.0,
            }
        if old is None and new is None:
            return {}
        heavier = self._heavier()
        said = "a temperature" if heavier["white.kelvin"] is not None else "a shift"
        self._note("white.kelvin against white.shift", said)
        return {path: heavier[path] for path in ("white.kelvin", "white.shift")}

    def _mono(self) -> Parameters:
        old, new = self.a["mono.weights"], self.b["mono.weights"]
        if isinstance(old, tuple) and isinstance(new, tuple):
            if old == new:
                return {}
            mixed = [self._between(*pair) for pair in zip(old, new, strict=True)]
            return {"mono.weights": tuple(round(weight / sum(mixed), 4) for weight in mixed)}
        paths = ("mono.filter", "mono.weights")
        heavier = {path: self._heavier()[path] for path in paths}
        if any(self.a[path] != self.b[path] for path in paths):
            self._note("mono", mono_in_words(list(heavier.values())))
        return heavier

    def _note(self, what: str, taken: str) -> None:
        side = self.names[1 if self.weight > 0.5 else 0]
        self.notes.append(f"{what} does not blend: {taken}, from {side}, the heavier side")


def _fitted(path: str, value: float) -> float:
    """A number within its range, rounded to a ten-thousandth of it."""
    spec = field_spec(path)
    assert spec.low is not None
    assert spec.high is not None
    digits = max(0, 4 - math.floor(math.log10(spec.high - spec.low)))
    return min(max(round(value, digits), float(spec.low)), float(spec.high))


def _float(value: Value) -> float:
    assert isinstance(value, float)
    return value
