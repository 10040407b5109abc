"""Rebuilding clipped highlights: identity, neutrality, only ever raised."""

from __future__ import annotations

import numpy as np

from driftline.stages.highlights import rebuild

CLIP = np.array([2.0, 1.0, 1.5], dtype=np.float32)


def test_unclipped_comes_back_as_it_was():
    """Where nothing clips nothing changes."""
    rgb = np.random.default_rng(1).random((40, 50, 3), dtype=np.float32) * 0.9
    np.testing.assert_array_equal(rebuild(rgb, clip=CLIP), rgb)


def test_values_are_only_raised():
    """No channel comes out lower than it went in, and the input is not written to."""
    rgb = np.minimum(np.random.default_rng(2).random((64, 64, 3), dtype=np.float32) * 3, CLIP)
    before = rgb.copy()
    assert np.all(rebuild(rgb, clip=CLIP) >= before)
    np.testing.assert_array_equal(rgb, before)


def test_fully_clipped_field_is_neutral():
    """Where nothing is known, the result is neutral at the lowest level that contradicts no channel."""
    rgb = np.broadcast_to(CLIP, (32, 32, 3)).copy()
    np.testing.assert_allclose(rebuild(rgb, clip=CLIP), 2.0, rtol=1e-5)
