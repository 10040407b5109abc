"""Grain by RMS granularity."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from driftline.stages.grain import APERTURE_UM, FILM_LONG_EDGE_UM, grain


@pytest.mark.parametrize("pitch", [6.0, 12.0])
@pytest.mark.parametrize("rms", [8.0, 20.0])
def test_measured_back_through_the_aperture_it_reads_as_stated(rms: float, pitch: float) -> None:
    """1000 x the standard deviation of density through a 48 µm aperture at density 1.0 (film data sheets)."""
    flat = np.full((1600, 2400, 3), 0.1, np.float32)
    pixel_um = FILM_LONG_EDGE_UM / 2400 / 5  # a piece of the film, five times enlarged
    from driftline.stages.grain import density_field

    field = density_field(1600, 2400, pixel_um=pixel_um, pitch_um=pitch, seed=3) * rms / 1000
    radius = APERTURE_UM / 2 / pixel_um
    y, x = np.ogrid[-20:21, -20:21]
    disc = (x * x + y * y <= radius * radius).astype(np.float32)
    seen = ndimage.convolve(field, disc / disc.sum(), mode="wrap")
    assert seen.std() * 1000 == pytest.approx(rms, rel=0.08)
    assert grain(flat[:50, :60], rms_granularity=rms, pitch_um=pitch).std() > 0


def test_the_same_seed_gives_the_same_grain() -> None:
    """A print made again is the same print."""
    flat = np.full((40, 60, 3), 0.2, np.float32)
    once, again, other = (grain(flat, rms_granularity=15, seed=s) for s in (1, 1, 2))
    assert np.array_equal(once, again)
    assert not np.array_equal(once, other)


def test_white_stays_clean() -> None:
    """No density, no grain (Selwyn: granularity goes with the root of density)."""
    white = np.ones((40, 60, 3), np.float32)
    assert np.array_equal(grain(white, rms_granularity=20), white)


def test_grain_is_neutral() -> None:
    """All channels are scaled alike: no colour speckle."""
    colour = np.broadcast_to(np.float32([0.3, 0.2, 0.1]), (40, 60, 3))
    out = grain(colour, rms_granularity=15)
    assert out[..., 0] / out[..., 1] == pytest.approx(1.5, rel=1e-4)
