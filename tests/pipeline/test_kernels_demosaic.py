"""Compiled demosaicking: equal to the reference, and the same bits however it is run."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.pipeline.kernels.demosaic import beyond_edges, demosaic
from driftline.stages import demosaic as reference
from driftline.stages import demosaic_cokriging
from driftline.stages.demosaic_margin import pad
from patterns import FOUR_BY_FOUR, RGGB, SIX_BY_SIX, STRIPES

LINES = np.ascontiguousarray(STRIPES.T)
PATTERNS = [
    *(np.roll(RGGB, (y, x), (0, 1)) for y in range(2) for x in range(2)),
    *(np.roll(SIX_BY_SIX, at, (0, 1)) for at in ((0, 0), (1, 4))),
    FOUR_BY_FOUR,
    STRIPES,
    LINES,
]
TOLERANCE = 5e-5
"""Sums run in another order than in the reference; on noise as strong as the picture this is what is left."""


def noisy(shape, seed=0):
    """The hardest mosaic: noise from -0.15 to 1.35."""
    return (np.random.default_rng(seed).random(shape, dtype=np.float32) - np.float32(0.1)) * np.float32(1.5)


@pytest.mark.parametrize("pattern", PATTERNS)
@pytest.mark.parametrize("shape", [(6, 6), (13, 29), (75, 90)])
def test_equals_the_reference(pattern, shape):
    """Any pattern and size gives what the numpy reference gives, within a stated tolerance."""
    mosaic = noisy(shape)
    ours = demosaic(mosaic, pattern)
    assert ours.dtype == np.float32
    np.testing.assert_allclose(ours, reference.demosaic(mosaic, pattern), atol=TOLERANCE)


def test_smallest_mosaic_and_other_noise_floor():
    """Two photosites a side are enough, and the noise floor reaches the kernel."""
    mosaic = noisy((2, 2), seed=4)
    np.testing.assert_allclose(demosaic(mosaic, RGGB), reference.demosaic(mosaic, RGGB), atol=TOLERANCE)
    mosaic = noisy((20, 20), seed=5)
    for pattern in (RGGB, SIX_BY_SIX):
        ours = demosaic(mosaic, pattern, noise_floor=0.05)
        expected = reference.demosaic(mosaic, pattern, noise_floor=0.05)
        np.testing.assert_allclose(ours, expected, atol=TOLERANCE)


@pytest.mark.parametrize("pattern", PATTERNS)
def test_same_bits_for_any_tiles_and_threads(pattern):
    """Tile sizes and thread counts do not change a bit."""
    mosaic = noisy((97, 131), seed=2)
    whole = demosaic(mosaic, pattern, threads=1, tile_rows=1000, tile_columns=1000)
    for threads, rows, columns in ((1, 7, 1000), (2, 16, 24), (3, 33, 50), (2, 1, 131)):
        cut = demosaic(mosaic, pattern, threads=threads, tile_rows=rows, tile_columns=columns)
        np.testing.assert_array_equal(cut, whole)


@pytest.mark.parametrize("pattern", [SIX_BY_SIX, FOUR_BY_FOUR, LINES])
@pytest.mark.parametrize("shape", [(6, 7), (25, 80), (60, 50)])
def test_edges_are_those_of_the_whole(pattern, shape):
    """What lies beyond the edges is found from strips, and equals what the whole mosaic gives."""
    mosaic = noisy(shape, seed=3)
    m = demosaic_cokriging.margin_of(pattern)
    padded = pad(mosaic, pattern, m)
    expected = padded[:m], padded[-m:], padded[m:-m, :m], padded[m:-m, -m:]
    for ours, theirs in zip(beyond_edges(mosaic, pattern), expected, strict=True):
        np.testing.assert_allclose(ours, theirs, atol=1e-6)


def test_not_a_number_stays_near():
    """One bad photosite spoils its neighbourhood only."""
    mosaic = noisy((60, 60), seed=6)
    clean = {name: demosaic(mosaic, pattern) for name, pattern in (("2", RGGB), ("6", SIX_BY_SIX))}
    mosaic[30, 30] = np.nan
    for name, pattern in (("2", RGGB), ("6", SIX_BY_SIX)):
        spoilt = demosaic(mosaic, pattern)
        far = np.ones((60, 60), bool)
        far[16:45, 16:45] = False
        np.testing.assert_array_equal(spoilt[far], clean[name][far])
