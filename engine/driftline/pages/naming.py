"""What the parameters of a recipe are called on a page, and their values as text."""

from __future__ import annotations

from driftline.pages.story import Value
from driftline.recipe.fields import generic_path
from driftline.recipe.words import PHRASES

_NAMES = {
    "exposure.ev": "exposure",
    "exposure.anchor": "where exposure starts",
    "white.shift": "white, shifted",
    "white.kelvin": "white, taken as",
    "white.duv": "white, magenta to green",
    "curve.slope": "contrast",
    "curve.toe": "shadows",
    "curve.shoulder": "highlights",
    "chroma.scale": "chroma",
    "chroma.band.*.hue": "band {band}, hue",
    "chroma.band.*.width": "band {band}, width",
    "chroma.band.*.turn": "band {band}, turned by",
    "chroma.band.*.scale": "band {band}, chroma",
    "chroma.band.*.lightness": "band {band}, lightness",
    "split.low.hue": "tint of the shadows, hue",
    "split.low.chroma": "tint of the shadows, strength",
    "split.high.hue": "tint of the highlights, hue",
    "split.high.chroma": "tint of the highlights, strength",
    "split.pivot": "where the tints meet",
    "split.spread": "how the tints overlap",
    "mono.filter": "contrast filter",
    "mono.weights": "shares of red, green and blue",
    "noise.chroma": "colour noise taken out",
    "grain.rms_granularity": "grain",
    "grain.pitch_um": "size of the grain",
    "finish.acutance": "acutance",
}

QUESTIONS = {
    "exposure": "How bright",
    "curve": "How steep",
    "white": "What light",
    "chroma": "Which colours",
    "split": "Which colours",
    "mono": "Which colours",
    "noise": "What surface",
    "grain": "What surface",
    "finish": "What surface",
}
"""The question that each section of a recipe answers about a picture."""


def parameter_name(path: str) -> str:
    """A parameter in words.

    Examples
    --------
    >>> parameter_name("curve.slope"), parameter_name("chroma.band.brick.turn")
    ('contrast', 'band brick, turned by')
    """
    parts = path.split(".")
    return _NAMES.get(generic_path(path), path).replace("{band}", parts[2] if len(parts) == 4 else "")


def value_words(path: str, value: Value) -> str:
    """A value with its unit, in as many decimals as its parameter is spoken of.

    Examples
    --------
    >>> value_words("exposure.ev", -0.35), value_words("split.low.hue", 240.0)
    ('−0.35 EV', '240°')
    """
    if isinstance(value, tuple):
        return " / ".join(f"{part:g}" for part in value)
    if not isinstance(value, float):
        return "off" if value is None else str(value)
    phrase = PHRASES[generic_path(path)]
    sign = "+" if phrase.signed and value > 0 else ""
    return f"{sign}{value:.{phrase.decimals}f}{phrase.unit}".replace("-", "−")


def width_words(path: str, width: float) -> str:
    """How far apart two values of a parameter are, with its unit and without a sign.

    Examples
    --------
    >>> width_words("exposure.ev", 0.35), width_words("curve.slope", 0.001)
    ('0.35 EV', 'under 0.01')
    """
    phrase = PHRASES[generic_path(path)]
    least = 10.0**-phrase.decimals
    shown = width if width == 0 else max(width, least)
    return f"{'under ' if 0 < width < least / 2 else ''}{shown:.{phrase.decimals}f}{phrase.unit}"
