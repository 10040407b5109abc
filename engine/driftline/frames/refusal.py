"""Why a file is not taken, as errors that say what was found, where, and what to do."""

from __future__ import annotations

import os
from pathlib import Path

from driftline.errors import FrameError
from driftline.frames.child import Answer


def check_file(path: Path) -> None:
    """Refuse what cannot be a frame at all.

    Raises
    ------
    FrameError
        ``frame-missing``, ``frame-not-a-file``, ``frame-unreadable`` or ``frame-not-raw``.
    """
    if not path.exists():
        raise FrameError("frame-missing", f"{path}: there is no such file", hint="check the path")
    if not path.is_file():
        raise FrameError("frame-not-a-file", f"{path}: not a file", hint="name a raw file")
    if not os.access(path, os.R_OK):
        raise FrameError("frame-unreadable", f"{path}: no permission to read it", hint=f"chmod u+r {path}")
    if path.stat().st_size == 0:
        raise FrameError("frame-not-raw", f"{path}: the file is empty (0 bytes)", hint="copy it again")


def refuse(path: Path, answer: Answer) -> FrameError:
    """The error for a decoder's failure or complaint."""
    if answer.failed is None:
        return FrameError(
            "frame-damaged",
            f"{path}: the decoder complained about the sensor data: {answer.complaints}",
            hint="copy the file again from the card or a backup",
        )
    kind, step, said = (answer.failed[key] for key in ("kind", "step", "said"))
    if kind == "unsupported" and step == "open":
        return FrameError("frame-not-raw", f"{path}: not a raw file that the decoder knows ({said})")
    codes = {
        "unsupported": "frame-unsupported",
        "input-output": "frame-truncated",
        "huge": "frame-huge",
        "memory": "frame-huge",
        "layout": "frame-layout",
    }
    return FrameError(codes.get(kind, "frame-damaged"), f"{path}: {said} (while it was to {step})")
