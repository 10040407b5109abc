"""Compiled linearising."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.pipeline.kernels.linearise import linearise as compiled
from driftline.stages.linearise import linearise as reference

RGGB = np.array([[0, 1], [1, 2]], np.uint8)
SIX = np.array([[1, 2, 1, 1, 0, 1], [0, 1, 0, 2, 1, 2]] * 3, np.uint8)


@pytest.mark.parametrize(
    "pattern", [RGGB, np.roll(RGGB, 1, axis=1), SIX], ids=["2 x 2", "other phase", "6 x 6"]
)
@pytest.mark.parametrize("shape", [(1, 1), (7, 5), (300, 401)])
def test_it_is_the_reference_to_the_bit(pattern: np.ndarray, shape: tuple[int, int]) -> None:
    """Every photosite by its own black level and its colour's white, in any phase and size."""
    rng = np.random.default_rng(1)
    given = {
        "pattern": pattern,
        "black": 500 + rng.random(pattern.shape) * 20,
        "white": np.array([15000.0, 16000, 15500]),
        "multipliers": np.array([2.1, 1.0, 1.4]),
    }
    values = rng.integers(0, 16384, shape, dtype=np.uint16)
    assert np.array_equal(compiled(values, **given), reference(values, **given))
