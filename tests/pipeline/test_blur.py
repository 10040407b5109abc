"""The compiled blur against SciPy's."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from driftline.pipeline.kernels.blur import blur


@pytest.mark.parametrize("shape", [(1, 1), (1, 9), (5, 3), (40, 61)])
@pytest.mark.parametrize("sigma", [0.5, 1.0, 8.0])
@pytest.mark.parametrize("truncate", [2.5, 3.0])
def test_it_is_scipys_with_edges_that_go_on(shape: tuple[int, int], sigma: float, truncate: float) -> None:
    """Against ``scipy.ndimage.gaussian_filter``, in float64; planes may be smaller than the reach."""
    plane = np.random.default_rng(3).random(shape, dtype=np.float32)
    theirs = ndimage.gaussian_filter(plane.astype(np.float64), sigma, mode="nearest", truncate=truncate)
    np.testing.assert_allclose(blur(plane, sigma, truncate=truncate), theirs, atol=1e-6)


def test_a_view_is_read_as_it_lies_and_not_written_to() -> None:
    """A transposed plane gives the transposed result."""
    plane = np.random.default_rng(4).random((20, 30), dtype=np.float32)
    before = plane.copy()
    np.testing.assert_allclose(blur(plane.T, 2.0).T, blur(plane, 2.0), atol=1e-6)
    np.testing.assert_array_equal(plane, before)
