"""The standing curve."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.colorimetry.encodings import srgb_encode
from driftline.stages.curve import curve
from driftline.stages.standing import MID_SLOPE, MIDDLE_GREY, WHITE_STOPS, shown_stops, standing


def test_a_metered_grey_lands_on_code_118() -> None:
    """ISO 12232: 18 % grey at 18 %/sqrt 2 = 12.73 % of saturation; IEC 61966-2-1 encodes 0.18 as 117.65."""
    assert pytest.approx(0.1273, abs=5e-5) == MIDDLE_GREY
    shown = srgb_encode(standing(np.float32([MIDDLE_GREY])))[0] * 255
    assert shown == pytest.approx(117.646, abs=0.01)


def test_it_rises_to_white_and_stays_there() -> None:
    """Strictly increasing up to display white, then flat; zero and below are black."""
    light = np.float32(MIDDLE_GREY * 2.0 ** np.linspace(-14, WHITE_STOPS - 0.05, 2000))
    assert (np.diff(standing(light)) > 0).all()
    assert standing(np.float32([0, -1, -1e-9])).tolist() == [0, 0, 0]
    assert standing(np.float32([MIDDLE_GREY * 2**WHITE_STOPS, 5, 1000])) == pytest.approx(1.0, abs=1e-6)


def test_it_is_smooth_at_middle_grey() -> None:
    """The slope is the same from both sides: C1."""
    below, above = shown_stops(np.array([-1e-4, 1e-4])) / np.array([-1e-4, 1e-4])
    assert below == pytest.approx(MID_SLOPE, rel=1e-3)
    assert above == pytest.approx(MID_SLOPE, rel=1e-3)


def test_saturation_is_shown_just_below_white() -> None:
    """A clipped photosite is nearly white, not grey: code value 245 to 254 (common practice)."""
    assert 245 < srgb_encode(standing(np.float32([1.0])))[0] * 255 < 254


def test_a_mild_slope_before_it_clips_next_to_nothing() -> None:
    """Slope 1.15 on a picture that fills the range newly clips less than 0.5 % (after it: up to 5 %)."""
    light = np.random.default_rng(3).beta(1.2, 4, (200, 300, 1)).astype(np.float32).repeat(3, axis=2)
    plain, edit = (srgb_encode(standing(x)) * 255 for x in (light, curve(light, slope=1.15)))
    assert ((edit >= 254).mean() - (plain >= 254).mean()) * 100 < 0.5
