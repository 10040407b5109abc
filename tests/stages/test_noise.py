"""Taking out colour noise: what goes, what stays, and the same at every sensitivity."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.stages.demosaic import demosaic
from driftline.stages.noise import LUMINANCE, NoiseModel, reduce_chroma_noise
from patterns import RGGB, seen_through

COLOUR = np.array([0.3, 0.2, 0.1], dtype=np.float32)


def exposed(picture, electrons, seed=2, read=0.002):
    """A picture through a 2 × 2 pattern with photon and read noise, demosaicked; and its noise model."""
    mosaic = seen_through(picture, RGGB)
    rng = np.random.default_rng(seed)
    noisy = rng.poisson(mosaic.astype(float) * electrons) / electrons + rng.normal(0, read, mosaic.shape)
    return demosaic(noisy.astype(np.float32), RGGB), NoiseModel((1 / electrons,) * 3, (read,) * 3)


def field(size=160):
    """One colour."""
    return np.broadcast_to(COLOUR, (size, size, 3)).astype(np.float32)


def chroma(rgb):
    """Red and blue over luminance, (H, W, 2)."""
    return rgb[..., [0, 2]] / (rgb @ LUMINANCE)[..., None]


def test_zero_is_the_identity_and_the_input_is_not_written_to():
    """Strength 0 changes nothing; any other returns a new float32 array."""
    rgb, noise = exposed(field(40), 300)
    before = rgb.copy()
    np.testing.assert_array_equal(reduce_chroma_noise(rgb, strength=0.0, noise=noise), rgb)
    assert reduce_chroma_noise(rgb, strength=1.0, noise=noise).dtype == np.float32
    np.testing.assert_array_equal(rgb, before)


def test_luminance_and_the_means_of_areas_stay():
    """The luminance sum stays at every pixel, grain and all; the colour of an area does not shift."""
    rgb, noise = exposed(field(), 100)
    quiet = reduce_chroma_noise(rgb, strength=1.0, noise=noise)
    np.testing.assert_allclose(quiet @ LUMINANCE, rgb @ LUMINANCE, atol=1e-6)
    np.testing.assert_allclose(quiet.mean(axis=(0, 1)), rgb.mean(axis=(0, 1)), rtol=0.01)


@pytest.mark.parametrize("electrons", [6400, 400, 100])
def test_one_setting_means_the_same_at_every_sensitivity(electrons):
    """With 6400 to 100 electrons at full scale a quarter of the colour noise is left, half at half."""
    rgb, noise = exposed(field(), electrons)
    start = chroma(rgb).std(axis=(0, 1)).mean()
    left = chroma(reduce_chroma_noise(rgb, strength=1.0, noise=noise)).std(axis=(0, 1)).mean() / start
    half = chroma(reduce_chroma_noise(rgb, strength=0.5, noise=noise)).std(axis=(0, 1)).mean() / start
    assert left < 0.25
    assert 0.48 < half < 0.62


def test_grain_and_texture_in_colour_stay():
    """Luminance texture on a coloured ground keeps its colour: red over luminance stays near the truth."""
    y, x = np.indices((160, 160))
    texture = 1 + 0.3 * np.sin(x / 2.5) * np.sin(y / 3.1)
    rgb, noise = exposed((field() * texture[..., None]).astype(np.float32), 400)
    quiet = reduce_chroma_noise(rgb, strength=1.0, noise=noise)
    expected = COLOUR[0] / (COLOUR @ LUMINANCE)
    inside = np.s_[10:-10, 10:-10]
    error = (quiet[..., 0] / (quiet @ LUMINANCE))[inside] / expected - 1
    assert (
        np.abs(error).mean() < 0.3 * np.abs((rgb[..., 0] / (rgb @ LUMINANCE))[inside] / expected - 1).mean()
    )


def test_colour_edges_stay():
    """An edge between two colours of equal luminance is as steep as before, noise apart."""
    picture = field().copy()
    picture[:, 80:] = [0.1, 0.2, 0.3]
    rgb, noise = exposed(picture, 2000)
    quiet = reduce_chroma_noise(rgb, strength=1.0, noise=noise)
    before, after = (np.diff(p[..., 0].mean(axis=0))[76:84] for p in (rgb, quiet))
    assert np.abs(after).max() > 0.85 * np.abs(before).max()
    np.testing.assert_allclose(quiet[:, 84:].mean(axis=(0, 1)), [0.1, 0.2, 0.3], rtol=0.03)


def test_a_clean_picture_is_hardly_touched():
    """With next to no noise the picture changes by less than a thousandth of full scale."""
    rng = np.random.default_rng(7)
    picture = np.clip(rng.normal(0.4, 0.1, (20, 20, 3)), 0, 1).repeat(8, axis=0).repeat(8, axis=1)
    noise = NoiseModel((1e-6,) * 3, (1e-4,) * 3)
    rgb = picture.astype(np.float32)
    assert np.abs(reduce_chroma_noise(rgb, strength=1.0, noise=noise) - rgb).max() < 1e-3


def test_black_and_negative_values():
    """Read noise about black, values below zero and all, comes back finite and a third as colourful."""
    rgb, noise = exposed(np.zeros((128, 128, 3), np.float32), 300, read=0.003)
    quiet = reduce_chroma_noise(rgb, strength=1.0, noise=noise)
    assert np.isfinite(quiet).all()
    assert (quiet[..., 0] - quiet[..., 1]).std() < 0.34 * (rgb[..., 0] - rgb[..., 1]).std()
