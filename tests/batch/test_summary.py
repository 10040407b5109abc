"""What a run says of itself in the end."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from batch.shoot import printed
from driftline.batch.summary import FAR_EV, by_hand, spread


def test_spread_is_the_standard_deviation_before_and_after() -> None:
    """Worked by hand: gains -1, 0, 1 spread by 0.816 EV; what is left, 0.01, 0.01, 0.04, by 0.014."""
    prints = [
        printed(1, anchor_ev=-1.0, floor_ev=0.01),
        printed(2, anchor_ev=0.0, floor_ev=0.01),
        printed(3, anchor_ev=1.0, floor_ev=0.04),
        printed(4, anchor_ev=9.0, floor_ev=None),
    ]
    found = spread(prints)
    assert found is not None
    assert (found.metered, found.anchored, found.frames) == (0.816, 0.014, 3)


def test_one_frame_has_no_spread() -> None:
    """Nothing is said of a single frame, or of frames without camera rendering."""
    assert spread([printed(1, floor_ev=0.0)]) is None
    assert spread([printed(n, floor_ev=None) for n in range(5)]) is None


def test_overdone_frames_are_listed_with_their_cause() -> None:
    """Overdone is listed; leaning and in keeping are not."""
    prints = [
        printed(1, verdict="in keeping"),
        printed(2, verdict="leaning", largest="white"),
        printed(3, verdict="overdone", largest="clip_high"),
    ]
    assert [(one.frame, one.kind, one.why) for one in by_hand(prints)] == [
        ("3.dng", "look", "overdone, most of it highlights")
    ]


@pytest.mark.parametrize(("off", "word"), [(2.0, "lighter"), (-2.5, "darker")])
def test_a_frame_far_off_the_rest_is_listed(off: float, word: str) -> None:
    """One frame two stops off its neighbours: told with the amount and the direction."""
    prints = [printed(n, midtone_ev=-0.5 + 0.1 * (n % 3)) for n in range(9)]
    prints.append(printed(9, midtone_ev=-0.4 + off))
    assert [(one.kind, one.why) for one in by_hand(prints)] == [
        ("meter", f"{abs(off):.1f} EV {word} than the middle of this run")
    ]


def test_a_frame_may_be_in_both_lists() -> None:
    """Metered wrong, and the look is too much on it as well: each list is complete, the look's first."""
    prints = [printed(n) for n in range(9)]
    prints.insert(4, printed(9, midtone_ev=2.0, verdict="overdone", largest="contrast"))
    assert [(one.frame, one.kind) for one in by_hand(prints)] == [("9.dng", "look"), ("9.dng", "meter")]


def test_an_uneven_run_has_no_odd_frames() -> None:
    """Day and night in one run: what is usual for the run is not listed."""
    assert by_hand([printed(n, midtone_ev=float(n % 2) * -3) for n in range(10)]) == []


@given(st.lists(st.floats(-FAR_EV / 2, FAR_EV / 2), max_size=30))
def test_small_differences_are_never_listed(midtones: list[float]) -> None:
    """Within a stop and a half nothing is odd, whatever the run."""
    assert by_hand([printed(n, midtone_ev=value) for n, value in enumerate(midtones)]) == []
