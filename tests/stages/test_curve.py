"""The recipe's characteristic curve."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from driftline.stages.curve import characteristic, curve
from driftline.stages.standing import MIDDLE_GREY

SETTINGS = {"slope": st.floats(0.5, 2.0), "toe": st.floats(-1, 1), "shoulder": st.floats(-1, 1)}


@given(**SETTINGS)
def test_it_is_monotone_for_every_allowed_value(slope: float, toe: float, shoulder: float) -> None:
    """Brighter stays brighter, over 30 stops."""
    out = characteristic(np.linspace(-18, 12, 3001), slope=slope, toe=toe, shoulder=shoulder)
    assert (np.diff(out) > 0).all()


@given(**SETTINGS)
def test_the_slope_at_middle_grey_is_the_one_stated(slope: float, toe: float, shoulder: float) -> None:
    """Gamma is the slope of the characteristic curve in log-log (Hurter and Driffield); from both sides."""
    for step in (-1e-4, 1e-4):
        out = characteristic(np.array([step]), slope=slope, toe=toe, shoulder=shoulder)
        assert out[0] / step == pytest.approx(slope, rel=1e-5)


def test_middle_grey_stays() -> None:
    """Contrast turns about middle grey."""
    grey = np.full((1, 3), MIDDLE_GREY, np.float32)
    assert np.allclose(curve(grey, slope=1.7, toe=1, shoulder=-1), grey, rtol=1e-6)


def test_chromaticity_is_left_alone() -> None:
    """RGB is scaled by one factor: the ratios of channels do not change."""
    colour = np.float32([[0.02, 0.3, 0.1], [0.9, 0.2, 0.05]])
    out = curve(colour, slope=1.4, toe=0.5, shoulder=0.7)
    assert np.allclose(out / out[:, :1], colour / colour[:, :1], rtol=1e-5)


@pytest.mark.parametrize(("setting", "stops"), [("toe", -4.0), ("shoulder", 3.0)])
def test_toe_and_shoulder_do_what_their_sign_says(setting: str, stops: float) -> None:
    """A closed toe darkens shadows, a gentle shoulder darkens highlights; the other sign the reverse."""
    plain = characteristic(np.array([stops]))[0]
    assert characteristic(np.array([stops]), **{setting: 0.5})[0] < plain
    assert characteristic(np.array([stops]), **{setting: -0.5})[0] > plain


def test_toe_leaves_highlights_and_shoulder_leaves_shadows() -> None:
    """Each has its own side of middle grey."""
    stops = np.linspace(0, 4, 9)
    assert np.array_equal(characteristic(stops, toe=1.0), characteristic(stops))
    assert np.array_equal(characteristic(-stops, shoulder=1.0), characteristic(-stops))
