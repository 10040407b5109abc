"""The decoder child: ``python -m driftline.frames.decoder PIXELS_FD LIFE_FD MEMORY_BYTES``.

It is the only place where LibRaw runs, so that a crash, a hang or a complaint in there costs one frame
and nothing else. Requests come on standard input and answers leave on standard output (see
:mod:`~driftline.frames.wire`); pixels go into the anonymous file ``PIXELS_FD`` that the parent made, so
nothing is left behind whoever dies. Standard error is a second anonymous file of the parent's: what LibRaw
itself writes there about a file is evidence, and Python's own noise is kept out of it.

A request is ``{path, want, seconds, max_pixels}``; ``want`` is ``sensor``, ``preview`` or ``facts``. The
answer is ``{facts, arrays}``, or ``{facts, failed: {kind, step, said}}`` with what was known until then.
"""

from __future__ import annotations

import contextlib
import fcntl
import math
import os
import resource
import signal
import sys
from collections.abc import Iterator
from typing import Any, BinaryIO

import numpy as np
import rawpy

from driftline.frames.wire import pack_message, take_message

_KINDS = (
    (rawpy.LibRawFileUnsupportedError, "unsupported"),
    (rawpy.LibRawIOError, "input-output"),
    (rawpy.LibRawTooBigError, "huge"),
    (rawpy.LibRawUnsufficientMemoryError, "memory"),
    (rawpy.LibRawMemPoolOverflowError, "memory"),
    (MemoryError, "memory"),
    (rawpy.LibRawNoThumbnailError, "no-preview"),
    (rawpy.LibRawUnsupportedThumbnailError, "no-preview"),
    (rawpy.LibRawRequestForNonexistentImageError, "no-preview"),
    (rawpy.NotSupportedError, "layout"),
    (NotImplementedError, "layout"),
    (rawpy.LibRawError, "broken"),
)


class RefusedError(Exception):
    """A file that this child declines, with the kind of reason."""

    def __init__(self, kind: str, said: str) -> None:
        super().__init__(said)
        self.kind = kind


def serve(requests: BinaryIO, answers: BinaryIO, pixels_fd: int) -> None:
    """Answer requests until the parent closes its end."""

    def take(size: int) -> bytes:
        taken = requests.read(size)
        if len(taken) < size:
            raise EOFError
        return taken

    with contextlib.suppress(EOFError, BrokenPipeError):
        while True:
            request = take_message(take)
            answers.write(pack_message(answer(request, pixels_fd)))
            answers.flush()


def answer(request: dict[str, Any], pixels_fd: int) -> dict[str, Any]:
    """Decode what one request asks for; every failure becomes part of the answer."""
    os.ftruncate(2, 0)
    os.lseek(2, 0, os.SEEK_SET)
    signal.alarm(math.ceil(request["seconds"]) + 5)  # ends a hung child even if its parent is gone
    facts: dict[str, Any] = {}
    step = ["open"]
    try:
        with _opened(request["path"]) as raw:
            arrays = _read(raw, request, facts, step)
            return {"facts": facts, "arrays": _hand_over(arrays, pixels_fd)}
    except Exception as error:
        said = error.args[0] if error.args else type(error).__name__
        text = said.decode(errors="replace") if isinstance(said, bytes) else str(said)
        return {"facts": facts, "failed": {"kind": _kind(error), "step": step[0], "said": text}}
    finally:
        signal.alarm(0)


def _opened(path: str) -> Any:
    """The file through LibRaw; by way of its bytes if its name is not UTF-8, which rawpy cannot pass on."""
    try:
        path.encode()
    except UnicodeEncodeError:
        with open(path, "rb") as file:
            return rawpy.imread(file)
    return rawpy.imread(path)


def _kind(error: Exception) -> str:
    if isinstance(error, RefusedError):
        return error.kind
    return next((kind for known, kind in _KINDS if isinstance(error, known)), "unexpected")


def _read(raw: Any, request: dict[str, Any], facts: dict[str, Any], step: list[str]) -> dict[str, Any]:
    """The arrays asked for, of an open file; facts are added as they become known.

    Of rawpy's properties only ``sizes`` can be asked without unpacking the sensor data (measured, 0.28).
    """
    sizes = raw.sizes._asdict()
    if sizes["raw_height"] * sizes["raw_width"] > request["max_pixels"]:
        raise RefusedError("huge", f"{sizes['raw_width']} × {sizes['raw_height']} photosites")
    facts["sizes"] = sizes
    if request["want"] == "preview":
        step[0] = "preview"
        facts["preview"], preview = _preview(raw)
        return {"preview": preview}
    step[0] = "unpack"
    raw.unpack()
    facts |= _exposure(raw)
    if request["want"] == "facts":
        return {}
    facts |= _colours(raw) | _levels(raw)
    return {"values": _visible(raw)}


def _exposure(raw: Any) -> dict[str, Any]:
    other, lens = raw.other, raw.lens
    return {
        "iso": float(other.iso_speed),
        "shutter_s": float(other.shutter_speed),
        "aperture": float(other.aperture),
        "focal_mm": float(other.focal_length),
        "taken": other.timestamp.isoformat(),
        "lens": " ".join(part for part in (lens.make, lens.model) if part).strip(),
    }


def _colours(raw: Any) -> dict[str, Any]:
    return {
        "num_colors": int(raw.num_colors),
        "color_desc": raw.color_desc.decode(errors="replace"),
        "camera_whitebalance": [float(x) for x in raw.camera_whitebalance],
        "daylight_whitebalance": [float(x) for x in raw.daylight_whitebalance],
        "rgb_xyz_matrix": np.asarray(raw.rgb_xyz_matrix, dtype=np.float64).tolist(),
        "color_matrix": np.asarray(raw.color_matrix, dtype=np.float64).tolist(),
    }


def _levels(raw: Any) -> dict[str, Any]:
    pattern = raw.raw_pattern
    return {
        "pattern": None if pattern is None else np.asarray(pattern).tolist(),
        "black": _black(raw),
        "white": int(raw.white_level),
        "linear_limit": _listed(raw.camera_white_level_per_channel),
    }


def _black(raw: Any) -> list[int] | None:
    """Black by colour index, or None where it varies in a larger pattern than LibRaw hands out."""
    try:
        return _listed(raw.black_level_per_channel)
    except (rawpy.NotSupportedError, NotImplementedError):
        return None


def _listed(levels: Any) -> list[int] | None:
    return None if levels is None else [int(level) for level in levels]


def _visible(raw: Any) -> Any:
    visible = raw.raw_image_visible
    return visible if visible.ndim == 2 else visible[..., :3]


def _preview(raw: Any) -> tuple[str, Any]:
    thumb = raw.extract_thumb()
    if thumb.format == rawpy.ThumbFormat.JPEG:
        return "jpeg", np.frombuffer(thumb.data, dtype=np.uint8)
    if thumb.format == rawpy.ThumbFormat.BITMAP:
        return "bitmap", np.asarray(thumb.data)
    raise RefusedError("no-preview", f"a preview of kind {thumb.format}")


def _hand_over(arrays: dict[str, Any], pixels_fd: int) -> dict[str, Any]:
    """Write arrays one after the other into the parent's file; say where each lies.

    The file keeps the size of the largest frame so far: to take its pages anew costs as much as the copy.
    """
    places, offset = {}, 0
    for name, array in arrays.items():
        block = np.ascontiguousarray(array)
        places[name] = {"dtype": block.dtype.str, "shape": block.shape, "offset": offset}
        remaining = block.reshape(-1).view(np.uint8).data
        while remaining:
            written = os.pwrite(pixels_fd, remaining[: 1 << 30], offset)
            remaining, offset = remaining[written:], offset + written
    return places


@contextlib.contextmanager
def _own_streams() -> Iterator[tuple[BinaryIO, BinaryIO]]:
    """Keep standard input and output for messages; whatever else prints goes elsewhere.

    What native code prints to standard output joins standard error; what Python prints is dropped.
    """
    requests = os.fdopen(os.dup(0), "rb")
    answers = os.fdopen(os.dup(1), "wb")
    nowhere = os.open(os.devnull, os.O_RDWR)
    os.dup2(nowhere, 0)
    os.dup2(2, 1)
    sys.stdout = sys.stderr = os.fdopen(nowhere, "w")
    with requests, answers:
        yield requests, answers


def _limit_memory(size: int) -> None:
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if size > 0:
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(resource.RLIMIT_AS, (size, size))


def _leave_with_parent(life_fd: int) -> None:
    """Have the kernel end this process with its parent, even in the middle of a frame.

    The parent alone holds the other end of this pipe and never writes. When it closes, SIGIO ends this
    process on Linux, without a thread that would have to run. (A death signal would come when the *thread*
    that started the child ends.) Elsewhere an idle child sees the end of its input, a busy one its alarm.
    """
    if sys.platform == "linux":
        signal.signal(signal.SIGIO, signal.SIG_DFL)
        fcntl.fcntl(life_fd, fcntl.F_SETOWN, os.getpid())
        fcntl.fcntl(life_fd, fcntl.F_SETFL, fcntl.fcntl(life_fd, fcntl.F_GETFL) | os.O_ASYNC)


def main() -> None:
    """Run as the child of a process that asks."""
    pixels_fd, life_fd, memory = (int(word) for word in sys.argv[1:4])
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # ctrl-c is for the parent, which may finish this frame
    signal.signal(signal.SIGALRM, signal.SIG_DFL)
    _limit_memory(memory)
    _leave_with_parent(life_fd)
    with _own_streams() as (requests, answers):
        serve(requests, answers, pixels_fd)


if __name__ == "__main__":
    main()
