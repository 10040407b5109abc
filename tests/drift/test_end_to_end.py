"""From files to numbers: what a recipe says is what drift reads, through raw, JPEG, registration, noise.

Drift is display-referred and a recipe scene-referred, so expected values are computed and not copied: plain
and edit are rendered at full size by the plain numpy stages, and the estimators are applied to these
noise-free pictures, pixel on pixel. With a linear curve in place of a camera's, a recipe reads as written.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from drift.shoot import demo
from driftline.drift import anchor_ev, check_frame, measure_drift
from driftline.pipeline import Frame, develop, open_frame
from driftline.recipe import NEUTRAL, parse_recipe
from driftline.recipe.likeness import TONE_STOPS, Likeness

BOUNDS = {"exposure": 0.06, "contrast": 0.04, "chroma": 0.05, "hue": 1.2, "white": 3.0}
"""Source: the closure bounds of the drift model's validation plan."""

LOOKS = {
    "lighter and warmer": "[exposure]\nev = 0.35\n[white]\nshift = 12.0\n[curve]\nslope = 1.15\n",
    "rich": "[curve]\nslope = 0.9\n[chroma]\nscale = 1.3\n"
    "[chroma.band.brick]\nhue = 40.0\nwidth = 40.0\nturn = -6.0\n",
    "two tones": "[split]\nlow = { hue = 250.0, chroma = 0.015 }\nhigh = { hue = 85.0, chroma = 0.01 }\n",
}


@cache
def pair(word: str) -> tuple[Frame, float, np.ndarray]:
    """A demo frame, its anchor, and plain at full size by the reference stages."""
    frame = demo(word)
    ev = anchor_ev(frame)
    return frame, ev, develop(frame, NEUTRAL, anchor_ev=ev, reference=True)


@pytest.mark.parametrize("word", ["fog", "grey"])
@pytest.mark.parametrize("look", LOOKS)
def test_the_edit_column_is_what_the_full_size_pictures_read(word: str, look: str) -> None:
    """The edit column from files agrees with the full-size, noise-free pictures within the closure bounds."""
    frame, ev, plain = pair(word)
    recipe = parse_recipe(LOOKS[look], source=look)
    edit = develop(frame, recipe, anchor_ev=ev, reference=True)
    expected = measure_drift(plain, edit, registered=True).causes
    found = check_frame(frame, recipe).causes
    for key, bound in BOUNDS.items():
        if key in ("chroma", "hue") and word == "fog":
            assert "too little colour" in found[key].reason
            continue
        assert found[key].edit == pytest.approx(expected[key].value, abs=bound), key
    assert found["split_tint"].edit == pytest.approx(expected["split_tint"].value, abs=0.5)


@cache
def linear(word: str) -> Frame:
    """A demo frame whose camera is taken to render by a straight line."""
    frame = open_frame(demo(word).path)
    frame.likeness = Likeness(
        camera="a straight line", matrix=(1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0), tone=TONE_STOPS
    )
    return frame


@pytest.mark.parametrize("word", ["grey", "shade", "noon"])
@pytest.mark.parametrize(
    ("text", "key", "value", "allowed"),
    [
        ("[exposure]\nev = 0.4\n", "exposure", 0.4, 0.01),
        ("[exposure]\nev = -0.7\n", "exposure", -0.7, 0.01),
        ("[curve]\nslope = 1.2\n", "contrast", np.log2(1.2), 0.01),
        ("[curve]\nslope = 0.85\n", "contrast", np.log2(0.85), 0.01),
        ("[chroma]\nscale = 1.2\n", "chroma", np.log2(1.2), 0.02),
        ("[white]\nshift = 12.0\n", "white", 12.0, 1.0),
        ("[white]\nduv = 0.003\n", "duv", 3.0, 0.3),
    ],
)
def test_with_a_straight_line_a_recipe_reads_as_written(
    word: str, text: str, key: str, value: float, allowed: float
) -> None:
    """ev, slope, chroma.scale, shift and duv read as written, and leak into no other cause.

    Shift and duv are stated about the frame's own light and read about D65: they may differ more.
    """
    causes = check_frame(linear(word), parse_recipe(text, source="one field")).causes
    assert causes[key].edit == pytest.approx(value, abs=allowed)
    leaks = {"exposure": 0.034, "contrast": 0.042, "chroma": 0.05, "hue": 1.4, "white": 3.6}
    for other, least in leaks.items():
        if other != key:
            assert causes[other].edit == pytest.approx(0, abs=least), other
