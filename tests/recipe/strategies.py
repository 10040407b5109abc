"""Random recipes for property tests, drawn over the whole of format 1."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from driftline.recipe import FILTER_NAMES, Recipe, field_specs, from_parameters
from driftline.recipe.fields import Value

BAND_NAMES = ["brick", "sky", "a", "tubes-2", "0"]
ABOUT = st.text(
    st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]) | st.sampled_from("\n\t\"'\\#"), max_size=40
)


def number(path: str) -> st.SearchStrategy[float]:
    """A value of one parameter: anything in its range, its ends, or a short decimal as people type it."""
    spec = field_specs()[path]
    assert spec.low is not None
    assert spec.high is not None
    anything = st.floats(spec.low, spec.high)
    typed = anything.map(lambda value: min(max(round(value, 2), spec.low), spec.high))
    return typed | anything | st.sampled_from([float(spec.low), float(spec.high)])


@st.composite
def recipes(draw: st.DrawFn, *, words: bool = True) -> Recipe:
    """A recipe in which up to twelve parameters moved, besides bands and switches."""
    values: dict[str, Value] = {}
    for path in draw(st.lists(st.sampled_from(NUMBERS), unique=True, max_size=12)):
        values[path] = draw(number(path))
    values |= draw(st.sampled_from([{}, *({path: 0.0} for path in WHITE)]).flatmap(_white))
    values |= draw(_mono())
    values["exposure.anchor"] = draw(st.sampled_from(["camera", "metered"]))
    for name in draw(st.lists(st.sampled_from(BAND_NAMES), unique=True, max_size=3)):
        values |= {f"chroma.band.{name}.{key}": draw(number(f"chroma.band.*.{key}")) for key in BAND_FIELDS}
    if not words:
        return from_parameters(values)
    name = draw(st.none() | st.from_regex(r"[a-z0-9][a-z0-9-]{0,20}", fullmatch=True))
    return from_parameters(values, name=name, about=draw(ABOUT))


WHITE = ("white.shift", "white.kelvin")
NUMBERS = [
    path
    for path, spec in field_specs().items()
    if spec.low is not None and "*" not in path and path not in WHITE
]
BAND_FIELDS = ("hue", "width", "turn", "scale", "lightness")


def _white(chosen: dict[str, Any]) -> st.SearchStrategy[dict[str, Value]]:
    return st.fixed_dictionaries({path: number(path) for path in chosen})


def _mono() -> st.SearchStrategy[dict[str, Value]]:
    filters = st.sampled_from(FILTER_NAMES).map(lambda name: {"mono.filter": name})
    pairs = st.tuples(st.floats(-0.5, 0.9), st.floats(-0.5, 0.9))
    weights = pairs.map(lambda pair: {"mono.weights": (pair[0], pair[1], 1 - pair[0] - pair[1])})
    return st.just({}) | filters | weights
