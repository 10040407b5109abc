"""Undoing a lens: where the sensor saw a place, and how much light it lost there."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from driftline.stages.lens import bend_of, lens

BARREL, CUSHION = (-0.03, 0.0, 0.0), (0.02, 0.005, 0.0)


@pytest.fixture
def picture() -> np.ndarray:
    """A smooth deterministic picture, wider than high."""
    noise = np.random.default_rng(5).uniform(0, 1, (60, 90, 3))
    return ndimage.gaussian_filter(noise, (2, 2, 0)).astype(np.float32)


def test_nothing_to_undo_gives_the_very_same_array(picture: np.ndarray) -> None:
    """Without distortion and falloff not even a copy is made."""
    assert lens(picture) is picture
    assert lens(picture, distortion=(0.0, 0.0, 0.0), falloff_ev=(0.0,)) is picture


@pytest.mark.parametrize("terms", [BARREL, CUSHION])
def test_it_samples_where_the_model_says(picture: np.ndarray, terms: tuple[float, ...]) -> None:
    """Against scipy's cubic splines (scipy.ndimage.map_coordinates), at places of the model's formula."""
    h, w = picture.shape[:2]
    y, x = np.mgrid[:h, :w].astype(float)
    y, x = y - (h - 1) / 2, x - (w - 1) / 2
    r2 = (y * y + x * x) / ((h * h + w * w) / 4)
    factor = (1 + terms[0] * r2 + terms[1] * r2**2) / max(1.0, 1 + sum(terms))
    at = [y * factor + (h - 1) / 2, x * factor + (w - 1) / 2]
    expected = [ndimage.map_coordinates(picture[..., c], at, order=3, mode="nearest") for c in range(3)]
    found = lens(picture, distortion=terms)
    assert np.abs(found - np.stack(expected, axis=-1))[2:-2, 2:-2].max() < 0.01


def test_the_corner_of_a_lens_that_loses_a_stop_is_doubled() -> None:
    """One EV at the corner: twice the light there, a quarter of an EV half-way, none in the middle."""
    flat = np.full((401, 601, 3), 0.25, np.float32)
    found = lens(flat, falloff_ev=(1.0,))
    assert found[200, 300, 0] == 0.25
    assert found[0, 0, 0] == pytest.approx(0.5, rel=0.01)
    assert found[100, 150, 0] == pytest.approx(0.25 * 2**0.25, rel=0.01)


def test_nothing_outside_the_picture_is_shown() -> None:
    """A pincushion is drawn in, so that no place is sampled beyond the corner."""
    radial = bend_of(CUSHION, ()).radial
    radii = np.linspace(0, 1, 100)
    reach = sum(term * radii ** (2 * n + 1) for n, term in enumerate(radial))
    assert reach.max() == pytest.approx(1)


def test_a_lamp_has_no_dark_rim() -> None:
    """No value leaves the range of its neighbours, however bright one of them is."""
    night = np.full((80, 80, 3), 0.01, np.float32)
    night[30:33, 50:53] = 40.0
    found = lens(night, distortion=BARREL)
    assert found.min() >= np.float32(0.01)
    assert found.max() <= 40.0


def test_the_input_is_not_written_and_float32_stays(picture: np.ndarray) -> None:
    """A stage works on read-only input."""
    before = picture.copy()
    picture.setflags(write=False)
    found = lens(picture, distortion=BARREL, falloff_ev=(0.5,))
    assert np.array_equal(picture, before)
    assert found.dtype == np.float32
    assert found.shape == picture.shape
