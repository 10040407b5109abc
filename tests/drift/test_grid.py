"""Area averaging, blocks and distortion on the common grid."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.colorimetry.encodings import srgb_decode
from driftline.drift.grid import Window, block_size, by_area, linear_light, undistort
from driftline.errors import UsageError


def random(*shape: int) -> np.ndarray:
    """Values 0 … 1, the same in every run."""
    return np.random.default_rng(5).random(shape).astype(np.float32)


@pytest.mark.parametrize(
    "window", [Window(0, 0, 40, 60), Window(2.3, 5.7, 31.1, 50.2), Window(8, 12, 24, 36)]
)
@pytest.mark.parametrize("shape", [(10, 15), (13, 7), (40, 60)])
def test_each_cell_is_the_mean_over_its_exact_area(window: Window, shape: tuple[int, int]) -> None:
    """Any window and grid give the integral of the picture over each cell, over its area."""
    picture = random(3, 40, 60)
    integral = np.zeros((3, 41, 61))
    integral[:, 1:, 1:] = picture.astype(np.float64).cumsum(axis=1).cumsum(axis=2)

    def up_to(plane: np.ndarray, y: float, x: float) -> float:
        i, j = min(int(y), 39), min(int(x), 59)
        v, u = y - i, x - j
        return float(np.array([1 - v, v]) @ plane[i : i + 2, j : j + 2] @ np.array([1 - u, u]))

    cells = by_area(picture, window, shape)
    for row, column in ((0, 0), (shape[0] - 1, shape[1] - 1), (shape[0] // 2, shape[1] // 3)):
        top, bottom = (window.top + window.height * (row + n) / shape[0] for n in (0, 1))
        left, right = (window.left + window.width * (column + n) / shape[1] for n in (0, 1))
        for c in range(3):
            plane = integral[c]
            area = up_to(plane, bottom, right) - up_to(plane, top, right)
            area += up_to(plane, top, left) - up_to(plane, bottom, left)
            mean = area / (bottom - top) / (right - left)
            assert cells[c, row, column] == pytest.approx(mean, abs=2e-5)


def test_the_whole_picture_at_its_own_size_is_itself() -> None:
    """Nothing is computed where nothing is asked."""
    picture = random(3, 20, 30)
    assert by_area(picture, Window(0.0, 0.0, 20.0, 30.0), (20, 30)) is picture


@pytest.mark.parametrize("kind", [np.uint8, np.uint16, np.float32, np.float64])
def test_blocks_are_averaged_in_linear_light(kind: type) -> None:
    """A large picture is reduced by whole blocks, in linear light, in any kind of number."""
    encoded = random(80, 120, 3)
    top = np.iinfo(kind).max if np.issubdtype(kind, np.integer) else 1
    given = (np.rint(encoded * top) if top > 1 else encoded).astype(kind)
    assert block_size((80, 120, 3), 600) == 4
    light = linear_light(given, name="a picture", keep=600)
    exact = srgb_decode(given.astype(np.float64) / top).reshape(20, 4, 30, 4, 3).mean(axis=(1, 3))
    assert light.shape == (3, 20, 30)
    assert np.allclose(light, exact.transpose(2, 0, 1), atol=2e-6)


def test_too_small_a_picture_is_refused() -> None:
    """A picture of fewer than 16 pixels either way says so."""
    with pytest.raises(UsageError, match="at least 16 × 16"):
        linear_light(np.zeros((8, 40, 3), np.uint8), name="a picture", keep=100)


@pytest.mark.parametrize("k1", [0.03, -0.03])
def test_distortion_is_undone(k1: float) -> None:
    """Sampling with the opposite distortion takes every place back to where it was, to .1 px at 600 px."""
    y, x = np.mgrid[:400, :600].astype(np.float32)
    there = undistort(np.stack([y, x]), k1)
    assert np.abs(there - [y, x]).max() > 5
    inside = np.s_[:, 15:-15, 20:-20]
    assert np.abs(undistort(there, -k1) - [y, x])[inside].max() < 0.1


def test_distortion_is_what_it_is_said_to_be() -> None:
    """The corner is sampled from k1 of its distance further out, the middle from where it is."""
    y, x = np.mgrid[:401, :601].astype(np.float32)
    bent = undistort(np.stack([y, x]), -0.02)
    assert bent[:, 200, 300].tolist() == [200, 300]
    r = np.hypot(200, 300) / np.hypot(200.5, 300.5)
    assert bent[0, 0, 0] == pytest.approx(200 * (0.02 * r**2 - 3 * 0.02**2 * r**4), abs=0.02)
    assert undistort(bent, 0.0) is bent
