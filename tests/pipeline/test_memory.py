"""Giving memory back, and making again what was let go."""

from __future__ import annotations

import numpy as np

import demo_frames
from driftline.pipeline import develop, open_frame
from driftline.pipeline.memory import give_back
from driftline.recipe import NEUTRAL


def test_what_was_let_go_is_made_again() -> None:
    """A frame that gave its pictures up develops to the same bytes."""
    frame = open_frame(demo_frames.named("grey-middle"))
    before = develop(frame, NEUTRAL, long_edge=200, draft=True, depth=8)
    for alone in (True, False):
        frame.let_go(reduced_alone=alone)
        assert np.array_equal(develop(frame, NEUTRAL, long_edge=200, draft=True, depth=8), before)


def test_asking_changes_nothing_else() -> None:
    """It may be called at any time."""
    give_back()
    give_back()
