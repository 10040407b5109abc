"""A shoot as it stands: what came in, what is printed, what was set aside, and what is still to do."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from driftline.errors import FrameError
from driftline.frames import ExposureData, RawFrame, list_frames
from driftline.ledger import Ledger

UNDEVELOPED, PRINTED, SET_ASIDE = "undeveloped", "printed", "set-aside"


@dataclass(frozen=True)
class FrameState:
    """One frame of a shoot.

    Attributes
    ----------
    rendering
        Where the camera rendering comes from, or why there is none, in words; empty if not looked for.
    state
        ``undeveloped``, ``printed`` or ``set-aside``.
    ref
        The version it was last printed with.
    problem
        Why it cannot be read, or nothing.
    """

    path: Path
    exposure: ExposureData | None
    rendering: str
    has_rendering: bool
    state: str
    ref: str | None
    problem: str

    def json(self) -> dict[str, Any]:
        """As ``shoot --json`` gives it."""
        recipe, _, version = (self.ref or "").partition("@")
        seen = self.exposure
        return {
            "path": str(self.path),
            "camera_rendering": self.rendering if self.has_rendering else None,
            "state": self.state,
            "recipe": recipe or None,
            "version": version or None,
            "taken": seen.taken.isoformat() if seen and seen.taken else None,
            "iso": seen.iso if seen else None,
            "shutter_s": seen.shutter_s if seen else None,
            "aperture": seen.aperture if seen else None,
            "focal_mm": seen.focal_mm if seen else None,
            "bias_ev": seen.bias_ev if seen else None,
            "problem": self.problem or None,
        }


@dataclass(frozen=True)
class Shoot:
    """The frames of a shoot, in the order of their paths."""

    frames: tuple[FrameState, ...]

    @property
    def counts(self) -> dict[str, int]:
        """How many frames are in each state, and how many cannot be read."""
        states = Counter(frame.state for frame in self.frames)
        named = {state: states[state] for state in (UNDEVELOPED, PRINTED, SET_ASIDE)}
        return {**named, "unreadable": sum(bool(frame.problem) for frame in self.frames)}

    def backlog(self, today: datetime) -> str:
        """How many frames wait, and for how long, in one line."""
        waiting = [frame for frame in self.frames if frame.state == UNDEVELOPED]
        if not waiting:
            return "nothing waits"
        taken = [f.exposure.taken.replace(tzinfo=None) for f in waiting if f.exposure and f.exposure.taken]
        days = (today.replace(tzinfo=None) - min(taken)).days if taken else 0
        age = f", the oldest for {days} day{'s' if days != 1 else ''}" if days > 0 else ""
        return f"{len(waiting)} of {len(self.frames)} frames wait{age}"


def look_over(paths: Iterable[str | os.PathLike[str]], ledger: Ledger | None) -> Shoot:
    """What stands in a shoot.

    Parameters
    ----------
    paths
        Frames, or folders of them.
    ledger
        Knows what was printed and set aside; None: nothing was.

    Raises
    ------
    FrameError
        A path that is not there. A frame that cannot be read is in the result, with its problem.
    """
    printed, aside = _recorded(ledger) if ledger else ({}, set())
    return Shoot(tuple(_state(path, printed, aside) for path in list_frames(paths)))


def set_aside(paths: Iterable[str | os.PathLike[str]], ledger: Ledger) -> int:
    """Close a shoot, or part of it: its undeveloped frames are no longer part of the backlog.

    Returns
    -------
    int
        How many frames were set aside by this.
    """
    waiting = [one for one in look_over(paths, ledger).frames if one.state == UNDEVELOPED]
    fingerprints = list(dict.fromkeys(RawFrame(one.path).fingerprint() for one in waiting))
    if fingerprints:
        ledger.record_set_aside(fingerprints)
    return len(waiting)


def _recorded(ledger: Ledger) -> tuple[dict[str, str], set[str]]:
    """Last ref by fingerprint of what was printed, and the fingerprints of what is set aside."""
    printed: dict[str, str] = {}
    aside: set[str] = set()
    for record in ledger.printed():
        fingerprint = str(record.line.get("frame", ""))
        if "ref" in record.line:
            printed[fingerprint] = str(record.line["ref"])
        elif record.line.get("state") == SET_ASIDE:
            aside.add(fingerprint)
        else:
            aside.discard(fingerprint)
    return printed, aside


def _state(path: Path, printed: dict[str, str], aside: set[str]) -> FrameState:
    frame = RawFrame(path)
    try:
        known = bool(printed or aside)
        fingerprint = frame.fingerprint() if known else ""
        exposure = frame.exposure()
        rendering = frame.camera_rendering(max_edge=64)
    except FrameError as error:
        return FrameState(path, None, "", False, UNDEVELOPED, None, error.message)
    ref = printed.get(fingerprint)
    state = PRINTED if ref else SET_ASIDE if fingerprint in aside else UNDEVELOPED
    has_one = rendering is not None
    return FrameState(path, exposure, frame.camera_rendering_reason, has_one, state, ref, "")
