"""A mosaic at half size: what one pixel for each cell of 2 × 2 photosites shows."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.stages.cells import cells

RGGB = np.array([[0, 1], [1, 2]], dtype=np.uint8)
PHASES = [np.roll(RGGB, (y, x), (0, 1)) for y in range(2) for x in range(2)]


def mosaic_of(planes: np.ndarray, pattern: np.ndarray) -> np.ndarray:
    """The photosites of three planes (H, W, 3) behind a pattern."""
    height, width = planes.shape[:2]
    colours = np.tile(pattern, (-(-height // 2), -(-width // 2)))[:height, :width]
    return np.take_along_axis(planes, colours[..., None].astype(int), axis=-1)[..., 0].astype(np.float32)


@pytest.mark.parametrize("pattern", PHASES)
def test_a_constant_stays(pattern: np.ndarray) -> None:
    """Three constant planes come back, to the bit for sums of powers of two."""
    found = cells(mosaic_of(np.full((9, 13, 3), [0.25, 0.5, 0.75]), pattern), pattern)
    assert found.shape == (4, 6, 3)
    assert found.reshape(-1, 3).tolist() == [[0.25, 0.5, 0.75]] * 24


@pytest.mark.parametrize("pattern", PHASES)
def test_a_slope_is_read_at_the_centre_of_each_cell(pattern: np.ndarray) -> None:
    """Every colour of a slanting plane is right where the four photosites meet: none lies beside the others.

    Bilinear interpolation reproduces a plane (definition); the outermost cells have no neighbour beyond.
    """
    y, x = np.mgrid[:20, :24]
    slope = (0.01 * y + 0.003 * x)[..., None] * [1.0, 0.5, 0.8]
    found = cells(mosaic_of(slope, pattern), pattern)
    centre = (0.01 * (2 * y[:10, :12] + 0.5) + 0.003 * (2 * x[:10, :12] + 0.5))[..., None] * [1.0, 0.5, 0.8]
    np.testing.assert_allclose(found[1:-1, 1:-1], centre[1:-1, 1:-1], rtol=1e-5)


def test_mean_light_is_kept() -> None:
    """Averaged over the inside, noise keeps its mean in every colour: nothing is counted twice."""
    noise = np.random.default_rng(3).random((400, 600, 3))
    found = cells(mosaic_of(noise, RGGB), RGGB)
    assert found.mean(axis=(0, 1)) == pytest.approx([0.5] * 3, abs=0.003)  # 60 000 cells: four sigma
