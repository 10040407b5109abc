"""The recipe as a data sheet: one line a parameter, by the question it answers."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Any, NamedTuple

from driftline.recipe import FieldSpec, field_specs

QUESTIONS: Mapping[str, str] = MappingProxyType(
    {
        "bright": "How bright?",
        "steep": "How steep?",
        "light": "What light?",
        "colours": "Which colours?",
        "surface": "What surface?",
    }
)
_ANSWERED_BY = {
    "exposure": "bright",
    "curve": "steep",
    "white": "light",
    "chroma": "colours",
    "mono": "colours",
    "split": "colours",
    "noise": "surface",
    "grain": "surface",
    "finish": "surface",
}


class Line(NamedTuple):
    """How a parameter stands on the sheet.

    ``scale`` is how its range is laid out: ``root`` (fine about neutral), ``log``, ``mired``, ``even``;
    ``shown`` is the value that the pair of pictures shows while the parameter is neutral.
    """

    label: str
    step: float = 0.0
    decimals: int = 0
    scale: str = "even"
    shown: Any = None


LINES: Mapping[str, Line] = MappingProxyType(
    {
        "exposure.ev": Line("exposure", 0.05, 2, "root", 0.5),
        "exposure.anchor": Line("starts from", shown="metered"),
        "white.shift": Line("shift", 1, 0, "root", 25.0),
        "white.kelvin": Line("or a temperature", 50, 0, "mired", 4300.0),
        "white.duv": Line("green to magenta", 0.0005, 4, "root", 0.01),
        "curve.slope": Line("slope", 0.01, 2, "log", 1.3),
        "curve.toe": Line("toe", 0.02, 2, "even", 0.5),
        "curve.shoulder": Line("shoulder", 0.02, 2, "even", 0.6),
        "chroma.scale": Line("chroma", 0.01, 2, "even", 1.35),
        "chroma.band.*.hue": Line("stands at", 1, 0),
        "chroma.band.*.width": Line("takes in", 1, 0),
        "chroma.band.*.turn": Line("turned by", 1, 0, "even", 20.0),
        "chroma.band.*.scale": Line("chroma", 0.01, 2, "even", 1.5),
        "chroma.band.*.lightness": Line("lightness", 0.005, 3, "even", 0.08),
        "split.low.hue": Line("dark tones, hue", 1, 0),
        "split.low.chroma": Line("dark tones, tint", 0.001, 3, "root", 0.03),
        "split.high.hue": Line("light tones, hue", 1, 0),
        "split.high.chroma": Line("light tones, tint", 0.001, 3, "root", 0.03),
        "split.pivot": Line("tints meet at", 0.01, 2),
        "split.spread": Line("tints overlap by", 0.01, 2),
        "mono.filter": Line("black and white", shown="none"),
        "mono.weights": Line("grey from", shown=(0.6, 0.3, 0.1)),
        "noise.chroma": Line("colour noise taken out", 0.02, 2, "even", 0.8),
        "grain.rms_granularity": Line("grain", 0.5, 1, "root", 16.0),
        "grain.pitch_um": Line("grain size", 0.5, 1, "log"),
        "finish.acutance": Line("acutance", 0.02, 2, "even", 0.6),
    }
)

_UNITS = {"deg": "°", "um": "µm", "Oklab L": "L", "Oklab C": "C", "RMS": "RMS"}


def sheet() -> list[dict[str, Any]]:
    """The questions in order, each with its lines; those of a band once, with ``*`` for its name."""
    return [
        {
            "key": key,
            "question": question,
            "sections": [section for section, asked in _ANSWERED_BY.items() if asked == key],
            "lines": [_line(spec) for spec in _specs(key)],
        }
        for key, question in QUESTIONS.items()
    ]


def _specs(question: str) -> Iterator[FieldSpec]:
    for path, spec in field_specs().items():
        if _ANSWERED_BY[path.partition(".")[0]] == question:
            yield spec


def _line(spec: FieldSpec) -> dict[str, Any]:
    line = LINES[spec.path]
    return {
        "path": spec.path,
        "section": spec.path.partition(".")[0],
        "label": line.label,
        "unit": _UNITS.get(spec.unit, spec.unit),
        "means": spec.means,
        "low": spec.low,
        "high": spec.high,
        "neutral": spec.neutral,
        "choices": list(spec.choices),
        "step": line.step,
        "decimals": line.decimals,
        "scale": line.scale,
        "shown": line.shown,
    }
