"""Compiled rebuilding of highlights."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.pipeline.kernels.highlights import rebuild as compiled
from driftline.stages.highlights import rebuild as reference

LEVELS = np.array([2.0, 1.0, 1.5])


def lamp(height: int, width: int) -> np.ndarray:
    """A warm lamp that clips in two channels, then in three, in a dim coloured street."""
    y, x = np.mgrid[:height, :width]
    light = 6.0 * np.exp(-((y - height / 3) ** 2 + (x - width / 2) ** 2) / (2 * (width / 9) ** 2)) + 0.1
    colour = np.stack([1.2 * light, light, 0.6 * light], axis=-1)
    noise = np.random.default_rng(4).normal(0, 0.01, colour.shape)
    return np.minimum(colour + noise, LEVELS).astype(np.float32)


@pytest.mark.parametrize("shape", [(60, 80), (131, 257), (7, 9)])
def test_it_is_the_reference(shape: tuple[int, int]) -> None:
    """Within 1e-5 of the reference at every pixel: sums over blocks are taken in another order."""
    picture = lamp(*shape)
    expected = reference(picture, clip=LEVELS)
    assert compiled(picture.copy(), clip=LEVELS) == pytest.approx(expected, abs=1e-5)


def test_what_is_not_clipped_is_left_alone() -> None:
    """Pixels clear of the clip levels come back as they were."""
    picture = lamp(60, 80)
    clear = (picture < 0.9 * LEVELS).all(axis=-1)
    assert np.array_equal(compiled(picture.copy(), clip=LEVELS)[clear], picture[clear])


def test_same_bits_for_any_tiles_and_threads() -> None:
    """How the work is cut up does not change a bit."""
    picture = lamp(131, 257)
    whole = compiled(picture.copy(), clip=LEVELS, threads=1, tile_rows=1000)
    for threads, rows in ((1, 1), (2, 10), (3, 37)):
        cut = compiled(picture.copy(), clip=LEVELS, threads=threads, tile_rows=rows)
        np.testing.assert_array_equal(cut, whole)
