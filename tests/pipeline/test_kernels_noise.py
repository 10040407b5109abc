"""Compiled taking out of colour noise: equal to the reference, and the same bits however it is run."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.pipeline.kernels.noise import reduce_chroma_noise as compiled
from driftline.stages.noise import NoiseModel
from driftline.stages.noise import reduce_chroma_noise as reference

NOISE = NoiseModel(shot=(0.002, 0.001, 0.0015), read=(0.002, 0.001, 0.002))


def noisy(*shape):
    """Coarse colours and strong noise, some of it below zero."""
    rng = np.random.default_rng(3)
    picture = np.linspace(0, 0.4, shape[1])[None, :, None] * np.array([1.2, 1, 0.6])
    return (picture + rng.normal(0, 0.03, (*shape, 3))).astype(np.float32)


@pytest.mark.parametrize("shape", [(1, 1), (2, 3), (7, 9), (64, 64), (131, 77)])
@pytest.mark.parametrize("strength", [0.0, 0.6, 1.0])
def test_it_is_the_reference(shape, strength):
    """To the last bits of float32, at any size."""
    expected = reference(noisy(*shape), strength=strength, noise=NOISE)
    np.testing.assert_allclose(compiled(noisy(*shape), strength=strength, noise=NOISE), expected, atol=1e-6)


def test_same_bits_for_any_tiles_and_threads():
    """How the work is cut up does not change a bit."""
    whole = compiled(noisy(131, 77), strength=0.8, noise=NOISE, threads=1, tile_rows=1000)
    for threads, rows in ((1, 1), (2, 10), (3, 37)):
        cut = compiled(noisy(131, 77), strength=0.8, noise=NOISE, threads=threads, tile_rows=rows)
        np.testing.assert_array_equal(cut, whole)


def test_it_works_in_place():
    """The array that goes in is the one that comes out."""
    rgb = noisy(20, 20)
    assert compiled(rgb, strength=1.0, noise=NOISE) is rgb
