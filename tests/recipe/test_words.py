"""What a photographer reads of a change."""

from __future__ import annotations

import math
from types import ModuleType

import numpy as np
import pytest
from hypothesis import given

from driftline.colorimetry.oklab import XYZ_to_oklab
from driftline.recipe import Recipe, differences, in_words, parse_recipe
from driftline.recipe.words import WARM_HUE
from recipe.strategies import recipes

SAID = [
    ("exposure.ev = 0.35", "exposure.ev = 0.5", "exposure +0.35 → +0.50 EV"),
    ("", "exposure.ev = -0.1", "exposure 0.00 → -0.10 EV"),
    ("", 'exposure.anchor = "metered"', "exposure starts from camera → metered"),
    ("curve.slope = 1.1", "curve.slope = 1.2", "contrast 1.10 → 1.20"),
    ("curve.slope = 1.1", "curve.slope = 1.1004", "contrast 1.1000 → 1.1004"),
    ("", "curve.toe = 0.2", "shadows closed: toe 0.00 → +0.20"),
    ("", "curve.toe = -0.2", "shadows opened: toe 0.00 → -0.20"),
    ("", "curve.shoulder = 0.3", "highlights gentler: shoulder 0.00 → +0.30"),
    ("white.shift = 12", "white.shift = 20", "white warmer: shift +12 → +20 mired"),
    ("white.kelvin = 5600", "white.kelvin = 5200", "white colder: 5600 → 5200 K"),
    ("", "white.kelvin = 5200", "white: as shot → 5200 K"),
    ("white.kelvin = 5200", "white.shift = -8", "white: 5200 K → shift -8 mired"),
    ("", "white.duv = 0.002", "white greener: duv 0.0000 → +0.0020"),
    ("", "chroma.scale = 0.92", "less colourful: chroma 1.00 → 0.92"),
    ("", "[chroma.band.brick]\nhue = 40\nturn = -4", "band brick added: hue 40°, width 40°, turn -4°"),
    ("[chroma.band.brick]\nhue = 40\nturn = -4", "", "band brick taken out (hue 40°)"),
    (
        "[chroma.band.brick]\nhue = 40\nturn = -4",
        "[chroma.band.brick]\nhue = 40\nturn = -6\nscale = 1.1",
        "band brick: turn -4° → -6°, chroma 1.00 → 1.10",
    ),
    ("", "split.low = { hue = 250, chroma = 0.018 }", "shadows toned: split.low hue 250°, chroma 0.018"),
    (
        "split.low = { hue = 240, chroma = 0.01 }",
        "split.low = { hue = 255, chroma = 0.01 }",
        "shadows colder: split.low hue 240° → 255°",
    ),
    (
        "split.high = { hue = 110, chroma = 0.01 }",
        "split.high = { hue = 80, chroma = 0.012 }",
        "highlights warmer: split.high hue 110° → 80°, chroma 0.010 → 0.012",
    ),
    (
        "split.high = { hue = 80, chroma = 0.012 }",
        "split.high = { hue = 80, chroma = 0.010 }",
        "highlights toned less: split.high chroma 0.012 → 0.010",
    ),
    (
        "split.low = { hue = 250, chroma = 0.018 }",
        "",
        "shadows no longer toned: split.low chroma 0.018 → 0.000",
    ),
    ("", "split.pivot = 0.55", "tints meet at lightness 0.50 → 0.55"),
    ("", 'mono.filter = "yellow"', "black and white: off → yellow filter"),
    ("[mono]", 'mono.filter = "deep-red"', "black and white: no filter → deep-red filter"),
    (
        'mono.filter = "red"',
        "mono.weights = [0.3, 0.6, 0.1]",
        "black and white: red filter → weights 0.3 0.6 0.1",
    ),
    ("[mono]", "", "black and white: no filter → off"),
    ("", "noise.chroma = 0.4", "colour noise taken out 0.00 → 0.40"),
    ("", "grain.rms_granularity = 9", "grain 0.0 → 9.0 RMS"),
    ("", "grain.pitch_um = 12", "grain size 8.0 → 12.0 µm"),
    ("", "finish.acutance = 0.2", "acutance 0.00 → 0.20"),
]


@pytest.mark.parametrize(("before", "after", "said"), SAID)
def test_a_change_in_words(before: str, after: str, said: str) -> None:
    """One phrase says what changed, which way, from what to what."""
    changes = differences(parse_recipe(before, source="before"), parse_recipe(after, source="after"))
    assert in_words(changes) == [said]


def test_several_changes_are_said_in_the_order_of_the_format() -> None:
    """The sentence of the format's own example."""
    before = parse_recipe("split.low.hue = 240\nexposure.ev = 0.35", source="before")
    after = parse_recipe("split.low.hue = 255\nexposure.ev = 0.50", source="after")
    said = "; ".join(in_words(differences(before, after)))
    assert said == "exposure +0.35 → +0.50 EV; shadows colder: split.low hue 240° → 255°"


@given(a=recipes(words=False), b=recipes(words=False))
def test_every_change_is_said(a: Recipe, b: Recipe) -> None:
    """Words are found for any change, one line each; none only where nothing changed."""
    said = in_words(differences(a, b))
    assert bool(said) == (a != b)
    assert all(line and "\n" not in line for line in said)
    assert len(set(said)) == len(said)


def test_warm_is_where_daylight_gets_warmer(colour: ModuleType) -> None:
    """The hue called warm is the way the CIE daylight locus leaves 6500 K (CIE 015, by colour-science)."""

    def oklab(kelvin: float) -> np.ndarray:
        x, y = colour.temperature.CCT_to_xy_CIE_D(kelvin)
        return XYZ_to_oklab(np.array([x / y, 1.0, (1 - x - y) / y]))

    for kelvin, sign in ((5500, 1), (7500, -1)):
        _, a, b = sign * (oklab(kelvin) - oklab(6500))
        assert math.degrees(math.atan2(b, a)) == pytest.approx(WARM_HUE, abs=3)
