"""Sensor values to linear light."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.stages.linearise import linearise

PATTERN = np.array([[0, 1], [1, 2]], np.uint8)


def test_black_is_zero_and_white_is_the_multiplier() -> None:
    """Each photosite by its own black level; green clips at 1, red and blue at their multipliers."""
    black = np.array([[500.0, 512], [520, 530]])
    white = np.array([16383.0] * 3)
    gain = np.array([2.0, 1.0, 1.6])
    dark = linearise(black.astype(np.uint16), pattern=PATTERN, black=black, white=white, multipliers=gain)
    full = linearise(
        np.full((2, 2), 16383, np.uint16), pattern=PATTERN, black=black, white=white, multipliers=gain
    )
    assert dark == pytest.approx(0)
    assert full == pytest.approx(np.float32([[2.0, 1.0], [1.0, 1.6]]), rel=1e-6)


def test_noise_below_black_stays_below_zero() -> None:
    """Nothing is clipped: the mean of a dark area is zero only if negatives are kept."""
    values = np.array([[90, 110], [95, 105]], np.uint16)
    out = linearise(
        values,
        pattern=PATTERN,
        black=np.full((2, 2), 100.0),
        white=np.array([1100.0] * 3),
        multipliers=np.ones(3),
    )
    assert out == pytest.approx(np.float32([[-0.01, 0.01], [-0.005, 0.005]]), rel=1e-5)


def test_planes_are_treated_alike() -> None:
    """Three-plane files get black, white and balance per plane."""
    values = np.full((2, 2, 3), 600, np.uint16)
    out = linearise(
        values,
        pattern=None,
        black=np.array([100.0, 100, 100]),
        white=np.array([1100.0] * 3),
        multipliers=np.array([2.0, 1, 1.5]),
    )
    assert out[0, 0] == pytest.approx([1.0, 0.5, 0.75])
