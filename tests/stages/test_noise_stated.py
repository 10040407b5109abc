"""The noise of balanced values from what the file states."""

from __future__ import annotations

import numpy as np
import pytest

import demo_frames
from driftline.frames import RawFrame
from driftline.stages.demosaic_margin import colours_of
from driftline.stages.linearise import linearise
from driftline.stages.noise import estimate_noise, stated_noise
from patterns import RGGB, SIX_BY_SIX

MULTIPLIERS = np.array([2.0, 1.0, 1.5])


@pytest.mark.parametrize("pattern", [RGGB, SIX_BY_SIX])
def test_it_is_the_noise_that_is_there(pattern):
    """Photon noise of known electrons, balanced afterwards, has the standard deviation that is foretold."""
    electrons, read = 2000.0, 0.002
    rng = np.random.default_rng(3)
    colours = colours_of(pattern, (600, 600))
    for level in (0.02, 0.4):
        recorded = rng.poisson(level * electrons, (600, 600)) / electrons + rng.normal(0, read, (600, 600))
        noise = stated_noise(np.full((3, 2), [1 / electrons, read**2]), multipliers=MULTIPLIERS)
        found = [(recorded * MULTIPLIERS[colour])[colours == colour].std() for colour in range(3)]
        np.testing.assert_allclose(found, noise.sigma(level * MULTIPLIERS), rtol=0.02)


def test_never_no_noise_at_all():
    """A frame is never taken for quieter than the quietest."""
    noise = stated_noise(np.full((3, 2), [1e-12, 1e-14]), multipliers=np.ones(3))
    assert min(noise.shot) > 1e-8
    assert min(noise.read) > 1e-6


@pytest.mark.parametrize("name", ["night-wide", "night-middle", "fog-wide", "chart"])
def test_the_estimate_agrees_where_there_is_little_texture(name):
    """On demo frames with noise or smooth areas enough to see it, the estimate is within 15 % of the stated.

    It is never below it by more than 2 %: texture adds to an estimate.
    """
    sensor = RawFrame(demo_frames.named(name)).sensor()
    levels = {"black": sensor.black, "white": sensor.white, "multipliers": sensor.as_shot}
    mosaic = linearise(sensor.values, pattern=sensor.pattern, **levels)
    values = np.full((1, 3), 0.18)
    stated = stated_noise(sensor.noise_profile, multipliers=sensor.as_shot).sigma(values)
    found = estimate_noise(mosaic, sensor.pattern).sigma(values) / stated
    assert (found > 0.98).all()
    assert (found < 1.15).all()
