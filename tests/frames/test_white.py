"""Which stated whites are believed."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.frames.white import as_shot_white, multipliers

DAYLIGHT = np.array([2.1, 1.0, 1.4])
RAW = np.array([0.5, 1.0, 0.7])  # of a grey scene in daylight, as this sensor sees it


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
    white = as_shot_white(stated, DAYLIGHT, RAW)
    assert white.multipliers is None
    assert "no usable as-shot white" in white.problem


def test_second_green_does_not_matter() -> None:
    """LibRaw leaves the second green at 0 where it is the same as the first."""
    white = as_shot_white([2.0, 1.0, 1.5, 0.0], DAYLIGHT, RAW)
    assert (white.multipliers.tolist(), white.problem, white.balanced) == ([2.0, 1.0, 1.5], "", False)


def test_green_is_one() -> None:
    """Multipliers are scaled so that green's is 1."""
    assert multipliers([1.0, 0.4, 0.7, 0.0]).tolist() == [2.5, 1.0, pytest.approx(1.75)]


def test_all_ones_of_values_as_the_sensor_saw_them() -> None:
    """1, 1, 1 says nothing about values that need twice the red."""
    white = as_shot_white([1.0, 1.0, 1.0, 1.0], DAYLIGHT, RAW)
    assert white.multipliers is None
    assert "2.10, 1.00, 1.40" in white.problem


def test_all_ones_of_values_that_the_camera_balanced() -> None:
    """1, 1, 1 is right for values that are grey as they are."""
    white = as_shot_white([1.0, 1.0, 1.0, 1.0], DAYLIGHT, np.array([0.95, 1.0, 0.9]))
    assert (white.multipliers.tolist(), white.problem, white.balanced) == ([1.0, 1.0, 1.0], "", True)


def test_all_ones_of_a_camera_that_needs_about_that() -> None:
    """1, 1, 1 is nothing special where daylight's multipliers are about 1, 1, 1."""
    white = as_shot_white([1.0, 1.0, 1.0, 1.0], np.array([1.02, 1.0, 0.98]), RAW)
    assert (white.multipliers.tolist(), white.problem, white.balanced) == ([1.0, 1.0, 1.0], "", False)
