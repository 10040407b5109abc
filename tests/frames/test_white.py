"""Which stated whites are believed."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.frames.white import as_shot_white, multipliers

DAYLIGHT = np.array([2.1, 1.0, 1.4])


@pytest.mark.parametrize(
    "stated",
    [
        [-1.0, 0.976, 1.007, 0.0],
        [2.0, 0.0, 1.5, 0.0],
        [0.0, 1.0, 0.0, 0.0],
        [float("nan"), 1.0, 1.5, 0.0],
        [2.0, 1.0, float("inf"), 0.0],
        [2.0, 1.0],
        [],
    ],
)
def test_invalid_ones_are_noticed(stated: list[float]) -> None:
    """A missing, zero, negative or infinite red, green or blue makes the white unknown, with a reason."""
    white, problem = as_shot_white(stated, DAYLIGHT)
    assert white is None
    assert "no usable as-shot white" in problem


def test_second_green_does_not_matter() -> None:
    """LibRaw leaves the second green at 0 where it is the same as the first."""
    white, problem = as_shot_white([2.0, 1.0, 1.5, 0.0], DAYLIGHT)
    assert (white.tolist(), problem) == ([2.0, 1.0, 1.5], "")


def test_green_is_one() -> None:
    """Multipliers are scaled so that green's is 1."""
    assert multipliers([1.0, 0.4, 0.7, 0.0]).tolist() == [2.5, 1.0, pytest.approx(1.75)]


def test_all_ones_of_a_sensor_that_needs_others() -> None:
    """1, 1, 1 says nothing about a sensor that needs twice the red in daylight."""
    white, problem = as_shot_white([1.0, 1.0, 1.0, 1.0], DAYLIGHT)
    assert white is None
    assert "2.10, 1.00, 1.40" in problem


def test_all_ones_of_data_that_are_balanced() -> None:
    """1, 1, 1 is right for data whose daylight is about 1, 1, 1: they were balanced before."""
    white, problem = as_shot_white([1.0, 1.0, 1.0, 1.0], np.array([1.02, 1.0, 0.98]))
    assert (white.tolist(), problem) == ([1.0, 1.0, 1.0], "")
