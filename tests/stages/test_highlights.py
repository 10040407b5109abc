"""Rebuilding clipped highlights: identity, truth where it is known, neutrality, no edges."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.stages.highlights import rebuild

CLIP = np.array([2.0, 1.0, 1.5], dtype=np.float32)


def lamp(colour, peak=4.0, size=240):
    """A glow of one colour before a dim wall of the same light: (size, size, 3), unclipped."""
    y, x = np.indices((size, size)) - size / 2
    light = peak * np.exp(-(x * x + y * y) / (2 * (size / 8) ** 2)) + 0.05
    return (light[..., None] * np.asarray(colour)).astype(np.float32)


def test_unclipped_comes_back_as_it_was():
    """Where nothing clips nothing changes."""
    rgb = np.random.default_rng(1).random((40, 50, 3), dtype=np.float32) * 0.9
    np.testing.assert_array_equal(rebuild(rgb, clip=CLIP), rgb)


def test_values_are_only_raised():
    """No channel comes out lower, clear pixels do not change, and the input is not written to."""
    rgb = np.minimum(np.random.default_rng(2).random((64, 64, 3), dtype=np.float32) * 3, CLIP)
    before = rgb.copy()
    out = rebuild(rgb, clip=CLIP)
    assert out.dtype == np.float32
    assert np.all(out >= before)
    clear = np.all(before < 0.95 * CLIP, axis=-1)
    np.testing.assert_array_equal(out[clear], before[clear])
    np.testing.assert_array_equal(rgb, before)


@pytest.mark.parametrize("clip", [(2.0, 1.0, 1.5), (1.0, 1.0, 2.2), (0.9, 1.0, 0.8)])
def test_a_clipped_field_is_neutral(clip):
    """Where nothing is known, the result is neutral at the lowest level that contradicts no channel."""
    rgb = np.broadcast_to(np.float32(clip), (64, 96, 3)).copy()
    np.testing.assert_allclose(rebuild(rgb, clip=np.array(clip)), max(clip), rtol=1e-5)


@pytest.mark.parametrize("colour", [(1, 1, 1), (1.3, 1, 0.6), (0.7, 1, 1.3), (1.5, 0.9, 0.5)])
def test_the_truth_comes_back_while_a_channel_is_left(colour):
    """In a glow of one colour every pixel with a channel that did not clip is rebuilt within 3 %."""
    truth = lamp(colour)
    out = rebuild(np.minimum(truth, CLIP), clip=CLIP)
    left = np.any(truth < 0.95 * CLIP, axis=-1)
    assert np.any(truth[left] > 1.2 * CLIP)
    np.testing.assert_allclose(out[left], truth[left], rtol=0.03)


@pytest.mark.parametrize("colour", [(1, 1, 1), (1.3, 1, 0.6), (0.7, 1, 1.3)])
def test_no_magenta_and_no_edge(colour):
    """Green never falls below red and blue both, and no step is much steeper than the truth's steepest."""
    truth = lamp(colour)
    out = rebuild(np.minimum(truth, CLIP), clip=CLIP)
    assert np.all(out[..., 1] >= 0.97 * np.minimum(out[..., 0], out[..., 2]))
    for axis in (0, 1):
        assert np.abs(np.diff(out, axis=axis)).max() < 1.5 * np.abs(np.diff(truth, axis=axis)).max()


def test_a_wide_lost_area_fades_to_neutral():
    """In the middle of a large coloured area that lost all channels the colour has gone."""
    truth = lamp((1.3, 1, 0.6), peak=60.0)
    out = rebuild(np.minimum(truth, CLIP), clip=CLIP)
    middle = out[120, 120]
    np.testing.assert_allclose(middle, middle[1], rtol=1e-3)
    assert np.all(middle >= CLIP.max() * 0.999)


def test_noise_at_the_clip_level_does_no_harm():
    """A sensor that saturates unevenly, two per cent about its level, still gives a neutral lamp."""
    truth = lamp((1, 1, 1))
    uneven = CLIP * (1 + np.random.default_rng(3).normal(0, 0.01, truth.shape)).astype(np.float32)
    out = rebuild(np.minimum(truth, uneven), clip=CLIP)
    hot = truth[..., 1] > 1.1
    ratio = out[hot] / out[hot].mean(axis=-1, keepdims=True)
    assert np.abs(ratio - 1).mean() < 0.03
