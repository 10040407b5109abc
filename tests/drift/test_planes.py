"""Colour on planes is the colour of the colorimetry room."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.colorimetry.oklab import oklab_to_srgb, srgb_to_oklab
from driftline.colorimetry.primaries import SRGB_LUMINANCE, SRGB_TO_XYZ
from driftline.drift.planes import from_oklab, halved, luminance, mixed, relative_colour, to_oklab

RGB = np.random.default_rng(2).random((500, 3))


def test_oklab_there_and_back() -> None:
    """Oklab on planes equals Oklab on pixels, and back."""
    assert np.allclose(to_oklab(RGB.T).T, srgb_to_oklab(RGB), atol=1e-12)
    lab = srgb_to_oklab(RGB)
    assert np.allclose(from_oklab(lab.T).T, oklab_to_srgb(lab), atol=1e-12)


def test_luminance_and_matrices() -> None:
    """Weighted sums over planes equal matrix products over pixels."""
    assert np.allclose(luminance(RGB.T), RGB @ SRGB_LUMINANCE)
    assert np.allclose(mixed(RGB.T, SRGB_TO_XYZ).T, RGB @ SRGB_TO_XYZ.T)


def test_float32_stays_float32() -> None:
    """Large planes are not widened."""
    planes = RGB.T.astype(np.float32)
    assert {f(planes).dtype for f in (to_oklab, from_oklab, luminance)} == {np.dtype(np.float32)}


def test_relative_colour_does_not_know_exposure() -> None:
    """z is what it was after R, G and B were scaled alike, and 0 on grey."""
    assert np.allclose(relative_colour(to_oklab(RGB.T)), relative_colour(to_oklab(RGB.T * 0.3)))
    assert np.abs(relative_colour(to_oklab(np.full((3, 5), 0.4)))).max() < 1e-6


@pytest.mark.parametrize("shape", [(3, 8, 12), (9, 13)])
def test_halved_is_the_mean_of_two_by_two(shape: tuple[int, ...]) -> None:
    """Odd rows and columns at the end are left out."""
    planes = np.random.default_rng(1).random(shape)
    h, w = (n // 2 for n in shape[-2:])
    blocks = planes[..., : 2 * h, : 2 * w].reshape(*shape[:-2], h, 2, w, 2)
    assert np.allclose(halved(planes), blocks.mean(axis=(-3, -1)))
