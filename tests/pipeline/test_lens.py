"""A frame's lens, undone as its likeness says."""

from __future__ import annotations

import numpy as np
import pytest

import demo_frames
from driftline.pipeline import KeptFrame, develop, keep, open_frame
from driftline.pipeline.lens import taken_with, without_lens
from driftline.recipe import NEUTRAL, TONE_STOPS, LensTerms, Likeness

WIDE = LensTerms(name="K 18 mm", focal_mm=18.0, distortion=(-0.016, 0.0, 0.0), falloff_ev=(0.3, 0.0, 0.0))
NO_LENS = Likeness(camera="Ostrel K2", matrix=(1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0), tone=TONE_STOPS)
KNOWN = NO_LENS.model_copy(update={"lens": {"wide": WIDE}})


def test_a_frame_and_its_kept_proof_say_the_same_lens() -> None:
    """Name and focal length, from the file and from what was kept of it."""
    frame = open_frame(demo_frames.named("fog-wide"))
    assert taken_with(frame) == ("K 18 mm", 18.0)
    assert taken_with(KeptFrame(keep(frame))) == ("K 18 mm", 18.0)


@pytest.mark.parametrize(("name", "likeness"), [("fog-wide", None), ("fog-wide", NO_LENS), ("chart", KNOWN)])
def test_what_is_not_known_is_left_alone(name: str, likeness: Likeness | None) -> None:
    """Without a likeness, without its lenses, or with another lens: the very same array."""
    frame = open_frame(demo_frames.named(name))
    frame.likeness = likeness
    camera = frame.developable(long_edge=300)
    assert without_lens(frame, camera) is camera


def test_the_picture_is_developed_without_its_lens() -> None:
    """Corners become lighter and the middle stays; the reference says the same; a kept proof too."""
    frame = open_frame(demo_frames.named("fog-wide"))
    frame.likeness = NO_LENS
    before = develop(frame, NEUTRAL, long_edge=300, draft=True)
    frame.likeness = KNOWN
    after = develop(frame, NEUTRAL, long_edge=300, draft=True)
    plainly = develop(frame, NEUTRAL, long_edge=300, draft=True, reference=True)
    assert after[:20, :20].mean() > 1.02 * before[:20, :20].mean()
    h, w = (n // 2 for n in before.shape[:2])
    middle = np.s_[h - 10 : h + 10, w - 10 : w + 10]
    assert np.abs(after[middle] - before[middle]).mean() < 0.01
    assert np.abs(after - plainly).mean() * 255 < 0.2
    kept = KeptFrame(keep(frame))
    kept.likeness = KNOWN
    assert np.abs(develop(kept, NEUTRAL, long_edge=300, draft=True) - after).mean() * 255 < 0.6


def test_a_draft_is_undone_once() -> None:
    """A frame that is edited again and again undoes its lens once a size; another likeness undoes it anew."""
    frame = open_frame(demo_frames.named("fog-wide"))
    frame.likeness = KNOWN
    camera = frame.developable(long_edge=300)
    first = without_lens(frame, camera)
    assert without_lens(frame, camera) is first
    stronger = WIDE.model_copy(update={"falloff_ev": (0.6, 0.0, 0.0)})
    frame.likeness = NO_LENS.model_copy(update={"lens": {"wide": stronger}})
    assert without_lens(frame, camera)[0, 0, 1] > first[0, 0, 1]
