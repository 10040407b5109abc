"""One soft spot."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.stages.dodge import dodge


def test_the_centre_gets_the_whole_ev_and_the_edge_none() -> None:
    """+1 EV doubles light at the centre (APEX); at the radius and beyond nothing changes."""
    flat = np.full((101, 151, 3), 0.2, np.float32)
    out = dodge(flat, x=0.5, y=0.5, radius=0.2, ev=1.0)
    assert out[50, 75] == pytest.approx(0.4, rel=1e-3)
    assert np.array_equal(out[:15], flat[:15])
    assert out.max() <= 0.4


def test_it_is_soft() -> None:
    """Going outwards, light falls without a step."""
    out = dodge(np.ones((101, 101, 1), np.float32), x=0.5, y=0.5, radius=0.4, ev=1.0)[50, 50:, 0]
    assert (np.diff(out) <= 0).all()
    assert np.abs(np.diff(out)).max() < 0.05  # twice the mean step of 40 pixels


def test_minus_is_darker_and_zero_is_nothing() -> None:
    """Burning in halves light at -1 EV; 0 EV returns the picture."""
    flat = np.full((21, 21, 3), 0.2, np.float32)
    assert dodge(flat, x=0.5, y=0.5, radius=0.5, ev=-1.0)[10, 10] == pytest.approx(0.1, rel=1e-2)
    assert dodge(flat, x=0.5, y=0.5, radius=0.5, ev=0.0) is flat
