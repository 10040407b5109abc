"""Resizing by area."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.stages.resize import fit, resize


def test_a_whole_ratio_is_the_mean_of_blocks() -> None:
    """3 x 3 blocks averaged, as scikit-image's block mean gives them."""
    from skimage.measure import block_reduce

    picture = np.random.default_rng(5).random((12, 18, 3)).astype(np.float32)
    assert resize(picture, height=4, width=6) == pytest.approx(
        block_reduce(picture, (3, 3, 1), np.mean), abs=1e-6
    )


@pytest.mark.parametrize("size", [(5, 7), (11, 17), (1, 1)])
def test_any_ratio_keeps_the_mean(size: tuple[int, int]) -> None:
    """Light is neither lost nor made."""
    picture = np.random.default_rng(6).random((12, 18, 3)).astype(np.float32)
    out = resize(picture, height=size[0], width=size[1])
    assert out.mean(axis=(0, 1)) == pytest.approx(picture.mean(axis=(0, 1)), rel=1e-5)


def test_constants_stay_constant_both_ways() -> None:
    """Growing and shrinking a flat picture gives the same flat picture."""
    flat = np.full((7, 9, 3), 0.3, np.float32)
    for size in ((3, 4), (20, 31)):
        assert resize(flat, height=size[0], width=size[1]) == pytest.approx(0.3, abs=1e-6)


def test_growing_a_ramp_keeps_it_a_ramp() -> None:
    """Linear interpolation between pixel centres."""
    ramp = np.tile(np.arange(8, dtype=np.float32), (2, 1))
    out = resize(ramp, height=2, width=16)
    assert np.diff(out[0])[1:-1] == pytest.approx(0.5)


def test_fit_never_enlarges() -> None:
    """A frame smaller than the size asked for keeps its size."""
    assert fit(600, 900, 3000) == (600, 900)
    assert fit(4000, 6000, 1500) == (1000, 1500)
    assert fit(10, 10000, 100) == (1, 100)
