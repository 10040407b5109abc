"""The line between the colours of two pictures, and the tint beside it, on colours of known truth."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.drift.regression import Steps, robust_line, steps_of

PLACES = 4000
LEVELS = np.linspace(0.3, 0.9, PLACES)
STEPS = steps_of(LEVELS)
C = 0.85 * np.exp(1j * np.radians(4.0))


def colours(going_with_lightness: float) -> np.ndarray:
    """Colours of things, of which so much goes with their lightness: the lighter, the warmer."""
    random = np.random.default_rng(7)
    own = 0.06 * (random.standard_normal(PLACES) + 1j * random.standard_normal(PLACES))
    return own + going_with_lightness * (0.1 + 0.2j) * (LEVELS - 0.5)


def ramp(size: float) -> np.ndarray:
    """Cold in the dark tones and warm in the light ones."""
    return size * (0.3 + 1j) * (LEVELS - LEVELS.mean()) / np.ptp(LEVELS)


@pytest.mark.parametrize("size", [0.0, 0.02, 0.05, 0.1])
def test_a_tint_by_lightness_is_not_taken_for_chroma(size: float) -> None:
    """Colours that go with lightness, scaled and turned, and a tint upon them: each is read for itself."""
    z = colours(1.5)
    found = robust_line(z, C * z + ramp(size) + 0.01j, STEPS)
    assert found.c == pytest.approx(C, abs=0.004 + 0.1 * size)
    read = complex(found.tint[-1] - found.tint[0])
    assert read == pytest.approx(complex(ramp(size)[-1] - ramp(size)[0]) * 7 / 8, abs=0.002 + 0.03 * size)


def test_without_the_steps_it_would_be() -> None:
    """In one step the same tint leaks into chroma (so that the test above means something)."""
    z = colours(1.5)
    found = robust_line(z, C * z + ramp(0.1), steps_of(LEVELS, 1))
    assert abs(found.c - C) > 0.03


def test_where_no_tint_is_seen_every_place_counts() -> None:
    """Without a tint, colours that part only with lightness still tell of chroma: steps do not blind it."""
    z = colours(4.0)
    noise = 0.02 * np.random.default_rng(3).standard_normal(PLACES)
    errors = [abs(robust_line(z, C * z + noise, steps).c - C) for steps in (STEPS, steps_of(LEVELS, 1))]
    assert errors[0] == pytest.approx(errors[1], abs=1e-3)


def test_outliers_do_not_move_it() -> None:
    """A tenth of the places, changed by something else, is outvoted (Huber 1964)."""
    z = colours(0.5)
    other = C * z + 0.01
    other[::10] = 0.3 - 0.2j
    found = robust_line(z, other, STEPS)
    assert found.c == pytest.approx(C, abs=0.03)


def test_greys_part_by_an_offset_alone() -> None:
    """Told not to turn, the line reads an offset and a tint, and leaves chroma and hue at nothing."""
    z = colours(0.0) / 50
    found = robust_line(z, z + 0.02 + ramp(0.04), STEPS, turning=False)
    assert found.c == 1
    whole = np.average(ramp(0.04), weights=LEVELS**2)
    assert found.t == pytest.approx(0.02 + whole, abs=1e-3)


@pytest.mark.parametrize("size", [0.001, 0.002, 0.005, 0.02])
def test_of_greys_all_of_a_tint_is_seen(size: float) -> None:
    """However faint: with c known there is nothing else it could be, and none of it is left as the rest."""
    z = colours(0.0) / 50
    found = robust_line(z, z + ramp(size), STEPS, turning=False)
    read = complex(found.tint[-1] - found.tint[0])
    assert read == pytest.approx(complex(ramp(size)[-1] - ramp(size)[0]) * 7 / 8, abs=0.01 * size)


def test_equal_colours_part_in_nothing() -> None:
    """The line of colours against themselves is 1, without offset and tint."""
    z = colours(1.0)
    found = robust_line(z, z, STEPS)
    assert found.c == pytest.approx(1, abs=1e-12)
    assert max(abs(found.t), float(np.abs(found.tint).max())) < 1e-12


@pytest.mark.parametrize("places", [1, 3, 8, 100])
def test_steps_hold_every_place_once(places: int) -> None:
    """However few places there are."""
    steps: Steps = steps_of(np.linspace(0.3, 0.9, places))
    assert steps.counts.sum() == places
    assert steps.counts.min() >= 1
