"""Compiled rebuilding of highlights."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.arrays import Mosaic
from driftline.pipeline.kernels.highlights import rebuild_mosaic as compiled
from driftline.pipeline.kernels.linearise import Levels
from driftline.stages.highlights_mosaic import rebuild_mosaic as reference
from patterns import FOUR_BY_FOUR, RGGB, SIX_BY_SIX, STRIPES, seen_through

CLIP = np.array([2.0, 1.0, 1.5])
PATTERNS = [RGGB, np.roll(RGGB, 1, axis=1), SIX_BY_SIX, FOUR_BY_FOUR, STRIPES]


def lamp(height: int, width: int, pattern: np.ndarray) -> Mosaic:
    """A warm lamp that clips in two channels, then in three, with a dark bar, in a dim coloured street."""
    y, x = np.mgrid[:height, :width]
    light = 6.0 * np.exp(-((y - height / 3) ** 2 + (x - width / 2) ** 2) / (2 * (width / 9) ** 2)) + 0.1
    light[height // 3 : height // 3 + 2] *= 0.05
    colour = np.stack([1.2 * light, light, 0.6 * light], axis=-1)
    noise = np.random.default_rng(4).normal(0, 0.01, colour.shape)
    return seen_through(np.minimum(colour + noise, CLIP).astype(np.float32), pattern)


def levels(pattern: np.ndarray) -> Levels:
    """Those of a mosaic that is linear already."""
    return Levels(np.zeros(pattern.shape, np.float32), np.ones(pattern.shape, np.float32))


@pytest.mark.parametrize("pattern", PATTERNS)
@pytest.mark.parametrize("shape", [(60, 80), (131, 257), (7, 9), (2, 3)])
def test_it_is_the_reference(shape: tuple[int, int], pattern: np.ndarray) -> None:
    """Within 1e-5 of the reference at every photosite: sums over blocks are taken in another order."""
    mosaic = lamp(*shape, pattern)
    expected = reference(mosaic, pattern, clip=CLIP)
    assert compiled(mosaic, pattern, levels(pattern), clip=CLIP) == pytest.approx(expected, abs=1e-5)
    if min(shape) > 50:
        assert np.any(expected > 1.2 * mosaic)


def test_sensor_values_are_made_linear() -> None:
    """From whole numbers with a black level of their own comes what comes from the linear mosaic."""
    values = np.rint(lamp(60, 80, RGGB) / CLIP[RGGB[np.ix_(np.arange(60) % 2, np.arange(80) % 2)]] * 900 + 64)
    some = Levels(np.full((2, 2), 64, np.float32), (CLIP[RGGB] / 900).astype(np.float32))
    mosaic = ((values.astype(np.float32) - 64) * np.tile(some.factor, (30, 40))).astype(np.float32)
    expected = compiled(mosaic, RGGB, levels(RGGB), clip=CLIP)
    assert compiled(values.astype(np.uint16), RGGB, some, clip=CLIP) == pytest.approx(expected, abs=1e-5)


def test_what_is_not_clipped_is_left_alone() -> None:
    """Photosites clear of the clip levels come back as they were, and the mosaic is not written to."""
    mosaic = lamp(60, 80, RGGB)
    before = mosaic.copy()
    out = compiled(mosaic, RGGB, levels(RGGB), clip=CLIP)
    clear = mosaic < 0.9 * seen_through(np.broadcast_to(CLIP, (60, 80, 3)), RGGB)
    assert np.array_equal(out[clear], mosaic[clear])
    assert np.array_equal(mosaic, before)


@pytest.mark.parametrize("pattern", [RGGB, SIX_BY_SIX])
def test_same_bits_for_any_tiles_and_threads(pattern: np.ndarray) -> None:
    """How the work is cut up does not change a bit."""
    mosaic = lamp(131, 257, pattern)
    whole = compiled(mosaic, pattern, levels(pattern), clip=CLIP, threads=1, tile_rows=1000)
    for threads, rows in ((1, 1), (2, 10), (3, 37)):
        cut = compiled(mosaic, pattern, levels(pattern), clip=CLIP, threads=threads, tile_rows=rows)
        np.testing.assert_array_equal(cut, whole)
