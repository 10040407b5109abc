"""Exposure."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.stages.exposure import exposure


def test_one_ev_doubles_linear_light() -> None:
    """One stop is a factor of two (APEX, ISO 2720)."""
    light = np.float32([0.01, 0.18, 3.0])
    assert exposure(light, ev=1.0) == pytest.approx(2 * light)
    assert exposure(light, ev=-2.0) == pytest.approx(light / 4)


def test_third_stops_add_up() -> None:
    """Three clicks of a third are one stop."""
    light = np.float32([0.18])
    thrice = exposure(exposure(exposure(light, ev=1 / 3), ev=1 / 3), ev=1 / 3)
    assert thrice == pytest.approx([0.36], rel=1e-6)
