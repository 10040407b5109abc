"""The estimate of a frame's noise against known noise."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.stages.demosaic_margin import colours_of
from driftline.stages.noise_estimate import NoiseModel, estimate_noise, patches
from patterns import RGGB, SIX_BY_SIX


def noisy(light, gain, read, seed=11):
    """Photon noise of so many electrons at 1 and Gaussian read noise."""
    rng = np.random.default_rng(seed)
    return (rng.poisson(light * gain) / gain + rng.normal(0, read, light.shape)).astype(np.float32)


def test_sigma_is_the_root_of_the_variances():
    """Photon noise and read noise add by their squares: 0.0004 × 0.25 + 0.01² is 0.0002."""
    model = NoiseModel(shot=(4e-4,) * 3, read=(0.01,) * 3)
    np.testing.assert_allclose(model.sigma(np.full(3, 0.25)), np.sqrt(2e-4))


@pytest.mark.parametrize("pattern", [RGGB, SIX_BY_SIX])
@pytest.mark.parametrize(("electrons", "read"), [(400.0, 0.004), (6000.0, 0.001), (60000.0, 0.0005)])
def test_known_noise_is_found(pattern, electrons, read):
    """On a gradient with photon and read noise of known strength the estimate is within 12 %."""
    light = np.tile(np.linspace(0.01, 0.9, 720), (480, 1))
    model = estimate_noise(noisy(light, electrons, read), pattern)
    values = np.array([[0.05] * 3, [0.5] * 3])
    np.testing.assert_allclose(model.sigma(values), np.sqrt(values / electrons + read**2), rtol=0.12)


def test_each_colour_has_its_own():
    """After balance red and blue are noisier by their multipliers, and the estimate says so."""
    gains = np.array([2.0, 1.0, 1.5])
    light = np.tile(np.linspace(0.01, 0.5, 720), (480, 1))
    multipliers = gains[colours_of(RGGB, light.shape)]
    mosaic = noisy(light / multipliers, 2000.0, 0.002) * multipliers.astype(np.float32)
    values = np.full(3, 0.3)
    expected = np.sqrt(gains * values / 2000 + (0.002 * gains) ** 2)
    np.testing.assert_allclose(estimate_noise(mosaic, RGGB).sigma(values), expected, rtol=0.15)


def test_texture_counts_for_little():
    """With texture over three quarters of the frame the estimate is less than a third too high."""
    y, x = np.indices((480, 720))
    light = (
        0.2 + 0.25 * x / 720 + np.where((x // 60 + y // 60) % 4 > 0, 0.08 * np.sin(x * 1.3) * np.sin(y), 0)
    )
    values = np.full(3, 0.3)
    found = estimate_noise(noisy(light, 1000.0, 0.002), RGGB).sigma(values)
    expected = np.sqrt(values / 1000 + 0.002**2)
    assert np.all((found > 0.9 * expected) & (found < 1.33 * expected))


def test_clipped_areas_do_not_count():
    """A large clipped area, which has no noise, does not pull the estimate down."""
    light = np.tile(np.linspace(0.01, 1.6, 720), (480, 1))
    mosaic = np.minimum(noisy(light, 1000.0, 0.002), 1)
    values = np.full(3, 0.5)
    found = estimate_noise(mosaic, RGGB).sigma(values)
    np.testing.assert_allclose(found, np.sqrt(values / 1000 + 0.002**2), rtol=0.15)


def test_tiny_and_flat_frames_get_a_model():
    """Too small to tell, or without any noise: a model all the same, positive and finite."""
    for mosaic in (np.zeros((4, 4), np.float32), np.full((64, 64), 0.5, np.float32)):
        model = estimate_noise(mosaic, RGGB)
        assert np.all(np.array(model.sigma(np.full(3, 0.5))) > 0)


def test_large_frames_are_sampled():
    """Of a large frame only some rows of patches are looked at, and the estimate stays."""
    light = np.tile(np.linspace(0.01, 0.9, 2000), (1500, 1))
    mosaic = noisy(light, 1000.0, 0.002)
    assert patches(mosaic, RGGB, 1)[0].size < 1500 * 2000 / 256 / 2
    values = np.full(3, 0.4)
    found = estimate_noise(mosaic, RGGB).sigma(values)
    np.testing.assert_allclose(found, np.sqrt(values / 1000 + 0.002**2), rtol=0.08)
