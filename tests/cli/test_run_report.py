"""What is said of a batch."""

from __future__ import annotations

from pathlib import Path

from batch.shoot import printed
from driftline.batch import Failed, RunResult
from driftline.cli.run_report import summary


def test_every_failure_names_its_frame_once() -> None:
    """The reason of a frame begins with its path as a rule; where it does not, the frame is put before it."""
    failed = [
        Failed(frame="shoot/a.dng", code="frame-empty", reason="shoot/a.dng: every value is 0"),
        Failed(frame="shoot/b.dng", code="worker-lost", reason="its worker was lost"),
    ]
    lines = list(summary(RunResult(failed=failed, seconds=2.0), Path("prints")))
    assert lines == [
        "0 prints in prints, 2.0 s",
        "  2 frames failed:",
        "    shoot/a.dng: every value is 0 [frame-empty]",
        "    shoot/b.dng: its worker was lost [worker-lost]",
    ]


def test_frames_to_look_at_are_listed_apart() -> None:
    """Spread before and after; then where the look is too much, then where the meter was misled."""
    prints = [printed(n, anchor_ev=0.1 * (-1) ** n, floor_ev=0.0) for n in range(8)]
    prints[2] = printed(2, verdict="overdone", largest="clip_high", anchor_ev=0.1, floor_ev=0.0)
    prints[5] = printed(5, midtone_ev=-2.4, anchor_ev=-0.1, floor_ev=0.0)
    lines = list(summary(RunResult(prints=prints, seconds=2.0), Path("prints")))
    assert lines == [
        "8 prints in prints, 2.0 s",
        "  exposure against the cameras' own pictures: 0.10 EV apart as metered,"
        " 0.00 EV as printed before the look",
        "  the look drifts out of its bands on 1 of 8 prints, to look at by hand:",
        "    2.jpg: overdone, most of it highlights",
        "  the meter was misled on 1 of 8 prints, to look at by hand:",
        "    5.jpg: 2.4 EV darker than the middle of this run",
    ]


def test_a_long_list_is_cut() -> None:
    """A look that is too much everywhere is not told frame by frame."""
    prints = [printed(n, verdict="overdone", largest="contrast") for n in range(30)]
    lines = list(summary(RunResult(prints=prints, seconds=2.0), Path("prints")))
    assert len(lines) == 2 + 12 + 1
    assert lines[-1] == "    and 18 more; --json names them all"
