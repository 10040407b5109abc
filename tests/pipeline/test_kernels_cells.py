"""Compiled cells of photosites: the reference's bits, straight from sensor values."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.pipeline.kernels.cells import cells as compiled
from driftline.pipeline.kernels.linearise import levels_of, linearised
from driftline.stages.cells import cells as reference

RGGB = np.array([[0, 1], [1, 2]], dtype=np.uint8)
VALUES = np.random.default_rng(8).integers(500, 16383, (71, 94), dtype=np.uint16)


@pytest.mark.parametrize("window", [(0, 0, 71, 94), (3, 5, 61, 80), (2, 1, 60, 81), (69, 90, 2, 4)])
@pytest.mark.parametrize("pattern", [np.roll(RGGB, (y, x), (0, 1)) for y in range(2) for x in range(2)])
def test_it_is_the_reference(pattern: np.ndarray, window: tuple[int, int, int, int]) -> None:
    """Any phase of the pattern and any window give the same bits as linearising first, in any threads."""
    levels = levels_of(
        pattern,
        black=np.array([[512.0, 510.0], [511.0, 513.0]]),
        white=np.array([16383.0] * 3),
        multipliers=np.array([2.1, 1.0, 1.4]),
    )
    top, left, height, width = window
    part = linearised(VALUES, levels)[top : top + height, left : left + width]
    expected = reference(part, np.roll(pattern, (-top, -left), axis=(0, 1)))
    for threads in (1, 3):
        assert np.array_equal(compiled(VALUES, pattern, levels, window, threads=threads), expected)
