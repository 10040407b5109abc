"""Why a file is not taken, as errors that say what was found, where, and what to do."""

from __future__ import annotations

import os
from pathlib import Path

from driftline.errors import FrameError
from driftline.frames.boxes import stated_end
from driftline.frames.child import Answer
from driftline.frames.directories import Directories, directory_beyond_end

AGAIN = "copy the file again from the card or a backup"
_RAW_BEGINNINGS = (b"II*\0", b"MM\0*", b"IIU\0", b"IIRO", b"IIRS", b"FUJIFILM", b"FOVb", b"\0MRM")
_CIFF, _BOXES = b"HEAPCCDR", b"ftyp"
_CODES = {
    "unsupported": "frame-unsupported",
    "input-output": "frame-truncated",
    "huge": "frame-too-large",
    "memory": "frame-too-large",
    "layout": "frame-layout",
}
_HINTS = {
    "frame-unsupported": "convert the file to DNG, or leave it out",
    "frame-too-large": "leave this file out",
    "frame-layout": "convert the file to a linear DNG of three planes",
}


def check_file(path: Path) -> None:
    """Refuse what cannot be a frame at all.

    Raises
    ------
    FrameError
        ``frame-missing``, ``frame-not-a-file``, ``frame-unreadable`` or ``frame-not-raw``.
    """
    if not os.path.lexists(path):
        raise FrameError("frame-missing", f"{path}: there is no such file", hint="check the path")
    if not path.exists():
        raise FrameError(
            "frame-missing", f"{path}: a link to a file that is not there", hint="connect the disk it is on"
        )
    if not path.is_file():
        raise FrameError("frame-not-a-file", f"{path}: not a file", hint="name a raw file")
    if not os.access(path, os.R_OK):
        raise FrameError(
            "frame-unreadable", f"{path}: there is no permission to read it", hint=f"chmod u+r {path.name}"
        )
    if path.stat().st_size == 0:
        raise FrameError("frame-not-raw", f"{path}: the file is empty (0 bytes)", hint=AGAIN)


def refuse(path: Path, answer: Answer, directories: Directories, rendering: str) -> FrameError:
    """The error for a decoder's failure or complaint.

    Parameters
    ----------
    path, answer
        The file, and what the decoder said of it.
    directories
        What the file itself states, if it is TIFF-like.
    rendering
        The size of the camera rendering if that is whole, as words; else ''.
    """
    size = path.stat().st_size
    failed = answer.failed or {"kind": "", "step": "unpack", "said": answer.complaints}
    said = failed["said"] if not answer.complaints else answer.complaints
    hint = AGAIN
    if rendering:
        hint += f"; its camera rendering ({rendering}) is whole, so the picture itself is not lost"
    needed = bytes_needed(path, directories)
    if needed > size and failed["kind"] not in {"huge", "memory"}:
        words = f"the file breaks off: it has {size} bytes of the {needed} at least that it should have"
        return FrameError("frame-truncated", f"{path}: {words} ({said})", hint=hint)
    begins = _begins_like_raw(path)
    if failed["step"] == "open" and (failed["kind"] == "unsupported" or not begins):
        return _not_raw(path, begins)
    code = _CODES.get(failed["kind"], "frame-damaged")
    return FrameError(code, f"{path}: {_words(code, said)}", hint=_HINTS.get(code, hint))


def missing_sensor_data(path: Path, missing: int) -> FrameError:
    """The error for a file that decodes in silence though its sensor data cannot be complete."""
    words = f"the file breaks off: {missing} bytes of its sensor data are missing"
    return FrameError("frame-truncated", f"{path}: {words}", hint=AGAIN)


def bytes_needed(path: Path, directories: Directories) -> int:
    """How many bytes a file must have at least, by what it states itself; 0 if it states nothing."""
    size = path.stat().st_size
    with path.open("rb") as file:
        boxes = stated_end(file, size)
    beyond = directory_beyond_end(path)
    return max(boxes, 0 if beyond is None else beyond + 1, size + directories.missing_bytes(size))


def _words(code: str, said: str) -> str:
    said = said.strip().rstrip(".")
    return {
        "frame-unsupported": f"the file opens, but the decoder cannot read this encoding ({said})",
        "frame-truncated": f"the sensor data break off or cannot be read ({said})",
        "frame-too-large": f"larger than can be decoded here ({said})",
        "frame-layout": f"a layout of sensor data that is not taken ({said})",
        "frame-damaged": f"the sensor data are damaged ({said})",
    }[code]


def _begins_like_raw(path: Path) -> bool:
    with path.open("rb") as file:
        head = file.read(16)
    return head.startswith(_RAW_BEGINNINGS) or head[6:14] == _CIFF or head[4:8] == _BOXES


def _not_raw(path: Path, begins: bool) -> FrameError:
    if begins:
        words = "it begins like a raw file, but the decoder finds no sensor data in it that it can open"
        return FrameError("frame-not-raw", f"{path}: {words}", hint=f"if a camera made it, {AGAIN}")
    return FrameError(
        "frame-not-raw", f"{path}: not a raw file that the decoder knows", hint="name a raw file, or a DNG"
    )
