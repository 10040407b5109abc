"""Colour noise: the estimate against known noise, and what the reduction leaves alone."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.stages.noise import LUMINANCE, NoiseModel, estimate_noise, reduce_chroma_noise

RGGB = np.array([[0, 1], [1, 2]], dtype=np.uint8)


@pytest.mark.parametrize(("electrons", "read"), [(400.0, 0.004), (6000.0, 0.001)])
def test_known_noise_is_found(electrons, read):
    """On a gradient with photon and read noise of known strength the estimate is within 15 %."""
    rng = np.random.default_rng(11)
    light = np.tile(np.linspace(0.01, 0.9, 600), (400, 1))
    mosaic = (rng.poisson(light * electrons) / electrons + rng.normal(0, read, light.shape)).astype(
        np.float32
    )
    model = estimate_noise(mosaic, RGGB)
    values = np.array([[0.05] * 3, [0.5] * 3])
    expected = np.sqrt(values / electrons + read**2)
    np.testing.assert_allclose(model.sigma(values), expected, rtol=0.15)


def test_zero_is_the_identity_and_luminance_stays():
    """Strength 0 changes nothing; strength 1 leaves the luminance sum as it was."""
    rgb = np.random.default_rng(5).random((48, 48, 3), dtype=np.float32)
    noise = NoiseModel(shot=(0.01,) * 3, read=(0.01,) * 3)
    np.testing.assert_array_equal(reduce_chroma_noise(rgb, strength=0.0, noise=noise), rgb)
    quiet = reduce_chroma_noise(rgb, strength=1.0, noise=noise)
    np.testing.assert_allclose(quiet @ LUMINANCE, rgb @ LUMINANCE, atol=2e-6)
