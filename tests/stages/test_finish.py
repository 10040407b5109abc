"""Acutance."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.stages.finish import finish


def edge() -> np.ndarray:
    """A vertical edge, a little soft, as a lens draws it."""
    profile = np.float32([0.1] * 20 + [0.2, 0.45, 0.7] + [0.8] * 20)
    return np.broadcast_to(profile[None, :, None], (9, 43, 3)).copy()


def test_an_edge_gets_steeper() -> None:
    """The largest step between neighbours grows with acutance."""
    steps = [np.abs(np.diff(finish(edge(), acutance=a)[4, :, 1])).max() for a in (0.0, 0.4, 1.0)]
    assert steps[0] < steps[1] < steps[2]


def test_halos_are_no_wider_than_two_pixels() -> None:
    """Three pixels from the edge nothing has changed."""
    out = finish(edge(), acutance=1.0)
    assert out[4, :17] == pytest.approx(edge()[4, :17], abs=1e-4)
    assert out[4, 26:] == pytest.approx(edge()[4, 26:], abs=1e-4)


def test_flat_areas_are_unchanged() -> None:
    """No edge, no change."""
    flat = np.full((9, 9, 3), 0.4, np.float32)
    assert finish(flat, acutance=1.0) == pytest.approx(flat, abs=1e-6)
