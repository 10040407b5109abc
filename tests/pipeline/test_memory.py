"""Giving memory back, and making again what was let go."""

from __future__ import annotations

import numpy as np
import pytest

import demo_frames
from driftline.pipeline import develop, open_frame
from driftline.pipeline.memory import keep_freed
from driftline.recipe import NEUTRAL


def test_what_was_let_go_is_made_again() -> None:
    """A frame that gave its pictures up develops to the same bytes."""
    frame = open_frame(demo_frames.named("grey-middle"))
    before = develop(frame, NEUTRAL, long_edge=200, draft=True, depth=8)
    for _ in range(2):
        frame.let_go()
        assert np.array_equal(develop(frame, NEUTRAL, long_edge=200, draft=True, depth=8), before)


def test_freed_memory_is_kept() -> None:
    """A large array takes the place of one that was freed: no page of it comes fresh from the system.

    Minor page faults are counted (getrusage): 64 MB are 16 384 pages, or 32 huge ones and their edges.
    """
    resource = pytest.importorskip("resource")
    if not keep_freed():
        pytest.skip("the C library cannot be told")

    def faults() -> int:
        before = resource.getrusage(resource.RUSAGE_SELF).ru_minflt
        np.ones(64 << 20, np.uint8)
        return int(resource.getrusage(resource.RUSAGE_SELF).ru_minflt - before)

    faults()
    assert faults() < 16
