"""Crop and turn."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.stages.turn import crop, kept_share, turn


def lines() -> np.ndarray:
    """A smooth picture with a known tilt: brightness rises along one direction."""
    y, x = np.mgrid[:240, :360]
    return np.repeat((0.5 + 0.4 * np.sin(0.05 * x + 0.02 * y))[..., None], 3, axis=2).astype(np.float32)


def test_no_turn_is_the_identity() -> None:
    """Nothing is resampled at 0 degrees."""
    assert np.array_equal(turn(lines(), degrees=0.0), lines())


@pytest.mark.parametrize("degrees", [-7.0, 0.8, 12.0])
def test_a_turn_is_a_rotation_of_the_plane(degrees: float) -> None:
    """Every pixel has the value of the smooth picture at its own place turned back (elementary geometry)."""
    ours = turn(lines(), degrees=degrees)[..., 0]
    height, width = ours.shape
    y, x = np.mgrid[:height, :width] - np.array([(height - 1) / 2, (width - 1) / 2])[:, None, None]
    a = np.radians(degrees)
    seen_x = np.cos(a) * x + np.sin(a) * y + 359 / 2
    seen_y = -np.sin(a) * x + np.cos(a) * y + 239 / 2
    assert np.abs(ours - (0.5 + 0.4 * np.sin(0.05 * seen_x + 0.02 * seen_y)))[4:-4, 4:-4].max() < 2e-3


@pytest.mark.parametrize("degrees", [-7.0, 12.0])
def test_it_turns_the_same_way_as_a_general_library(degrees: float) -> None:
    """scikit-image's rotate, whose angle is anticlockwise, gives the same middle to half a pixel."""
    from skimage.transform import rotate

    ours = turn(lines(), degrees=degrees)[..., 0]
    whole = rotate(lines()[..., 0], -degrees, order=3, mode="edge")
    top, left = ((a - b) // 2 for a, b in zip(whole.shape, ours.shape, strict=True))
    theirs = whole[top : top + ours.shape[0], left : left + ours.shape[1]]
    assert np.corrcoef(ours.ravel(), theirs.ravel())[0, 1] > 0.998


@pytest.mark.parametrize("degrees", [-30.0, -1.0, 3.0, 45.0])
def test_no_corner_is_empty_and_nothing_larger_would_be_whole(degrees: float) -> None:
    """The turned rectangle touches the border and does not cross it."""
    height, width = 240.0, 360.0
    share = kept_share(240, 360, degrees=degrees)
    a = np.radians(degrees)
    corners = np.array([[-1, -1], [-1, 1], [1, -1], [1, 1]]) * [height * share / 2, width * share / 2]
    turned = corners @ np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]]).T
    reach = np.abs(turned).max(axis=0) / [height / 2, width / 2]
    assert reach.max() == pytest.approx(1.0)


def test_clockwise_turns_a_rising_horizon_down_on_the_right() -> None:
    """A line that rises to the right becomes level when turned clockwise by its slope."""
    y, x = np.mgrid[:200, :300]
    tilted = np.repeat((y + np.tan(np.radians(5.0)) * (x - 150) < 100)[..., None], 3, axis=2)
    level = turn(tilted.astype(np.float32), degrees=5.0)[..., 0]
    edge = (level > 0.5).sum(axis=0)[10:-10]
    assert np.ptp(edge) <= 1


def test_a_crop_keeps_the_part_that_is_named() -> None:
    """Fractions of width and height from the top left."""
    picture = np.arange(10 * 20, dtype=np.float32).reshape(10, 20, 1)
    assert np.array_equal(crop(picture, left=0.25, top=0.1, right=0.75, bottom=0.9), picture[1:9, 5:15])
    assert crop(picture, left=0, top=0, right=1, bottom=1).shape == picture.shape
