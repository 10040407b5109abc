"""Frames as they are named on the command line: those that can be read, and those that cannot, and why."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from driftline.cli import say
from driftline.errors import FrameError

if TYPE_CHECKING:
    from driftline.pipeline import Frame


@dataclass(frozen=True)
class Failure:
    """A frame that could not be used, and why."""

    path: Path
    error: FrameError

    def json(self) -> dict[str, str]:
        """As failed frames stand in every document."""
        return {
            "frame": str(self.path),
            "code": self.error.code,
            "reason": self.error.message,
            "hint": self.error.hint,
        }


def open_readable(paths: Iterable[Path]) -> tuple[list[Frame], list[Failure]]:
    """The frames that decode, and those that do not, each of these told on standard error."""
    from driftline.batch.plan import frames_of  # noqa: PLC0415
    from driftline.pipeline import open_frame  # noqa: PLC0415

    readable, failed = [], []
    for path in frames_of(paths):
        try:
            frame = open_frame(path)
            frame.sensor()
            readable.append(frame)
        except FrameError as error:
            say.trouble(error.report())
            failed.append(Failure(path, error))
    return readable, failed
