"""Demosaicking: constants, phases, sizes, and equality with an outside implementation."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from driftline.stages import demosaic_two_by_two
from driftline.stages.demosaic import decode, demosaic, encode

PHASES = [
    np.array(p, dtype=np.uint8)
    for p in ([[0, 1], [1, 2]], [[1, 0], [2, 1]], [[1, 2], [0, 1]], [[2, 1], [1, 0]])
]


@pytest.mark.parametrize("pattern", PHASES)
@pytest.mark.parametrize("shape", [(2, 2), (3, 5), (24, 31)])
def test_constant_colour_is_exact(pattern, shape):
    """A field of one colour comes back as that colour, in any phase and size."""
    colour = np.array([1.7, 0.4, -0.01], dtype=np.float32)
    rows, columns = np.indices(shape)
    mosaic = colour[pattern[rows % 2, columns % 2]]
    np.testing.assert_allclose(demosaic(mosaic, pattern), np.broadcast_to(colour, (*shape, 3)), atol=2e-6)


def test_encoding_round_trip_keeps_negatives_and_highlights():
    """Nothing is clipped by encoding and decoding."""
    values = np.linspace(-0.5, 4, 1001, dtype=np.float32)
    np.testing.assert_allclose(decode(encode(values, 0.004), 0.004), values, atol=2e-6)


def test_equals_colour_demosaicing():
    """The directional method equals that of colour-demosaicing inside the border, to float32 rounding."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from colour_demosaicing import demosaicing_CFA_Bayer_Menon2007
    mosaic = np.random.default_rng(4).random((60, 74)).astype(np.float32)
    for pattern, name in zip(PHASES, ("RGGB", "GRBG", "GBRG", "BGGR"), strict=True):
        theirs = demosaicing_CFA_Bayer_Menon2007(mosaic.astype(np.float64), name)
        ours = demosaic_two_by_two.interpolate(mosaic, pattern)
        np.testing.assert_allclose(ours[8:-8, 8:-8], theirs[8:-8, 8:-8], atol=1e-5)
