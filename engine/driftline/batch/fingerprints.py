"""What tells the frames of a run apart, read from the files only as far as it is needed."""

from __future__ import annotations

from collections.abc import Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Final

from driftline.errors import DriftlineError
from driftline.frames import RawFrame

_MARK_LENGTH: Final = 8


class Fingerprints:
    """The frames' fingerprints, each computed once and only when it is asked for."""

    def __init__(self, frames: Iterable[Path]) -> None:
        with ThreadPoolExecutor() as threads:
            self._quick = dict(zip(frames, threads.map(_quick, frames), strict=True))
        self._full: dict[Path, str | None] = {}

    def quick(self, frame: Path) -> str | None:
        """The quick fingerprint; None if the file cannot be read."""
        return self._quick[frame]

    def full(self, frame: Path) -> str | None:
        """The full fingerprint; None if the file cannot be read."""
        if frame not in self._full:
            self.compute([frame])
        return self._full[frame]

    def known(self, frame: Path) -> str | None:
        """The full fingerprint if it was computed already."""
        return self._full.get(frame)

    def compute(self, frames: Iterable[Path]) -> None:
        """Read these files now, several at once."""
        wanted = [frame for frame in frames if frame not in self._full]
        with ThreadPoolExecutor() as threads:
            self._full.update(zip(wanted, threads.map(_full, wanted), strict=True))

    def mark(self, frame: Path) -> str:
        """What tells the frame from others of its name."""
        return (self.full(frame) or "unreadable")[:_MARK_LENGTH]


def _quick(frame: Path) -> str | None:
    try:
        return RawFrame(frame).quick_fingerprint()
    except (DriftlineError, OSError):
        return None


def _full(frame: Path) -> str | None:
    try:
        return RawFrame(frame).fingerprint()
    except (DriftlineError, OSError):
        return None
