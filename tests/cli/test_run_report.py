"""What is said of a batch."""

from __future__ import annotations

from pathlib import Path

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
