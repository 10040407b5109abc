"""The compiled passes against the same sums in plain numpy."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from driftline.drift.passes import (
    MEAN_A,
    MEAN_B,
    PRODUCT,
    SQUARE,
    WEIGHT,
    bilinear,
    line_sums,
    misses,
    recolour,
)
from driftline.drift.planes import mixed

PLACES = 1003
RANDOM = np.random.default_rng(11)
Z_A, Z_B = (RANDOM.standard_normal(PLACES) + 1j * RANDOM.standard_normal(PLACES) for _ in range(2))
LIGHTNESS = np.sort(RANDOM.uniform(0.2, 1.0, PLACES))
STARTS = np.array([0, 250, 501, 502], np.intp)
STEP = np.repeat(np.arange(4), np.diff([*STARTS, PLACES]))
OFFSETS = np.array([0.1 + 0.2j, -0.3j, 0.05, 0.4 - 0.1j])
C = 0.8 + 0.1j


def distances() -> np.ndarray:
    """Of every place from the line of its step, times lightness."""
    return np.abs(Z_B - C * Z_A - OFFSETS[STEP]) * LIGHTNESS


@pytest.mark.parametrize("limit", [np.inf, 0.5])
def test_sums_of_each_step(limit: float) -> None:
    """The weighed least-squares sums, with Huber's weights (1964): 1 up to the limit, limit / miss beyond."""
    w = LIGHTNESS**2 * np.minimum(1, limit / distances())
    found = line_sums(Z_A, Z_B, LIGHTNESS, STARTS, C, OFFSETS, limit)
    wanted = {WEIGHT: w, MEAN_A: w * Z_A, MEAN_B: w * Z_B, PRODUCT: w * Z_A.conj() * Z_B}
    wanted[SQUARE] = w * np.abs(Z_A) ** 2
    for column, each in wanted.items():
        np.testing.assert_allclose(found[:, column], np.add.reduceat(each, STARTS), rtol=1e-12, atol=1e-12)


@pytest.mark.parametrize("every", [1, 5, 7])
def test_misses_of_every_so_many_places(every: int) -> None:
    """Those places counted from the first of all, whichever step they are in."""
    found = misses(Z_A, Z_B, LIGHTNESS, STARTS, C, OFFSETS, every)
    np.testing.assert_allclose(found, distances()[::every], rtol=1e-12)


def test_a_tint_is_laid_between_its_levels_by_straight_lines() -> None:
    """Against ``numpy.interp``, beyond both ends too, and on a level itself."""
    lab = RANDOM.uniform(-0.2, 0.9, (3, PLACES))
    levels = np.array([0.3, 0.5, 0.75, 0.9])
    lightness = np.concatenate([levels, LIGHTNESS[4:]])
    out = np.empty_like(lab)
    recolour(lab, lightness, C, levels, OFFSETS, out)
    ab = (lab[1] + 1j * lab[2]) * C + np.interp(lightness, levels, OFFSETS) * lab[0]
    np.testing.assert_allclose(out, [lab[0], ab.real, ab.imag], atol=1e-15)


@pytest.mark.parametrize("k1", [0.02, -0.03])
@pytest.mark.parametrize("second", [0.0, 3.0])
def test_places_between_pixels_are_read_bilinearly(k1: float, second: float) -> None:
    """Against ``scipy.ndimage.map_coordinates`` of order 1; beyond the planes nan, or the edge."""
    planes = RANDOM.random((2, 40, 31)).astype(np.float32)
    rows, columns = 25, 37
    y, x = np.mgrid[:rows, :columns] - np.array([(rows - 1) / 2, (columns - 1) / 2])[:, None, None]
    bend = k1 * (y * y + x * x) / ((rows**2 + columns**2) / 4)
    bend = 1 + bend + second * bend * bend
    at = np.stack([19.5 + 2.5 + 1.5 * y * bend, 15.0 - 1.2 + 0.8 * x * bend])
    inside = (at >= 0).all(axis=0) & (at[0] <= 39) & (at[1] <= 30)
    assert 0.5 < inside.mean() < 1
    wanted = [ndimage.map_coordinates(plane.astype(float), at, order=1, mode="nearest") for plane in planes]
    out = np.empty((2, rows, columns), np.float32)
    asked = ((1.5, 0.8), (2.5, -1.2), k1, second)
    bilinear(planes, *asked, np.inf, 0, rows, out)
    np.testing.assert_allclose(out, wanted, atol=2e-6)
    bilinear(planes, *asked, 0.0, 0, rows, out)
    np.testing.assert_array_equal(np.isfinite(out), np.broadcast_to(inside, out.shape))
    np.testing.assert_allclose(out[:, inside], np.array(wanted)[:, inside], atol=2e-6)


@pytest.mark.parametrize("dtype", [np.float32, np.float64])
def test_a_matrix_is_applied_to_planes_however_they_lie(dtype: type) -> None:
    """Against the matrix product, on a view that is not contiguous; the dtype stays."""
    planes = RANDOM.random((3, 14, 9)).astype(dtype)[:, ::2]
    matrix = RANDOM.random((3, 3))
    found = mixed(planes, matrix)
    assert found.dtype == dtype
    np.testing.assert_allclose(found, np.einsum("ij,jhw->ihw", matrix, planes), rtol=1e-5)
