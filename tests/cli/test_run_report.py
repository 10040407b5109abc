"""What is said of a batch."""

from __future__ import annotations

from pathlib import Path

from batch.shoot import printed
from driftline.batch import Failed, Kept, RunResult
from driftline.batch.order import Measures
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


def test_what_to_try_is_told_once() -> None:
    """A hint that holds for many frames stands once, after all of them, with the codes of their reasons."""
    kinds = [("worker-lost", "run it again"), ("frame-empty", ""), ("frame-hung", "run it again")]
    failed = [
        Failed(frame=f"{n}.dng", code=code, reason="lost", hint=hint)
        for n, (code, hint) in enumerate(kinds * 20)
    ]
    lines = list(summary(RunResult(failed=failed, seconds=2.0), Path("prints")))
    assert len(lines) == 2 + 60 + 1
    assert lines[-1] == "  try, where it says worker-lost or frame-hung: run it again"


def test_what_to_try_with_one_frame_names_it() -> None:
    """A hint that holds for one frame alone names that, not all that failed for the like."""
    hints = ["copy it again", "copy it again", "its camera rendering is whole"]
    failed = [
        Failed(frame=f"day/{n}.dng", code="frame-truncated", reason="broken off", hint=hint)
        for n, hint in enumerate(hints)
    ]
    assert list(summary(RunResult(failed=failed, seconds=2.0), Path("prints")))[-2:] == [
        "  try, where it says frame-truncated: copy it again",
        "  try, with 2.dng: its camera rendering is whole",
    ]


def kept(number: int, measures: Measures | None = None) -> Kept:
    """A print that was there already."""
    return Kept(frame=f"{number}.dng", path=f"{number}.jpg", ref="dusk@1", fingerprint="0", measures=measures)


def test_all_frames_of_the_request_are_counted() -> None:
    """Printed now, there already, left at an older version, failed: they add up to what was asked for."""
    result = RunResult(
        prints=[printed(n, floor_ev=0.0) for n in range(3)],
        there=[kept(3, printed(3, verdict="overdone", largest="contrast", floor_ev=0.0).measures), kept(4)],
        older=[kept(5)],
        failed=[Failed(frame="6.dng", code="frame-empty", reason="6.dng: every value is 0")],
        seconds=2.0,
    )
    assert result.asked == 7
    assert list(summary(result, Path("prints"))) == [
        "3 prints in prints, 2.0 s",
        "  7 frames: 3 printed now, 2 there already,"
        " 1 left as printed with an older version (--refresh prints them again), 1 failed",
        "  of 1 there already it is not known here how far they drift",
        "  exposure against the cameras' own pictures (4 of 5 compared): 0.00 EV apart as metered,"
        " 0.00 EV as printed before the look",
        "  the look drifts out of its bands on 1 of 5 prints, to look at by hand:",
        "    3.jpg: overdone, most of it contrast",
        "  1 frame failed:",
        "    6.dng: every value is 0 [frame-empty]",
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
