"""What a worker may be asked to do in tests: things that go well and things that go wrong."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

from driftline.errors import FrameError

_kept: list[bytearray] = []


def double(number: int) -> int:
    """Twice a number."""
    return 2 * number


def process_number() -> int:
    """Which worker it is."""
    return os.getpid()


def crash() -> None:
    """Die as a library does."""
    print("segment of a library gone", file=sys.stderr, flush=True)
    os.abort()


def hang(seconds: float = 60.0) -> None:
    """Take far too long."""
    time.sleep(seconds)


def refuse() -> None:
    """Raise an error that is meant for the user."""
    raise FrameError("frame-damaged", "night-07.dng: rows missing", hint="copy it again")


def blunder() -> None:
    """Raise what nobody expected."""
    raise KeyError("tram")


def chatter() -> str:
    """Print to standard output, from Python and from below."""
    print("a library's chatter", flush=True)
    os.write(1, b"\0\0\0\5more")
    return "still understood"


def grow(megabytes: int) -> int:
    """Keep memory, and tell which worker did."""
    _kept.append(bytearray(os.urandom(1 << 20) * megabytes))
    return os.getpid()


def leave_mark_later(path: str, seconds: float) -> None:
    """Write a file after a while: it must not come to be when the parent died before."""
    Path(path + ".started").write_text(str(os.getpid()))
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        pass
    Path(path).write_text("late")


def threads_allowed() -> str | None:
    """What the worker was told about threads."""
    return os.environ.get("DRIFTLINE_THREADS")


def start_and_wait(path: str) -> None:
    """A parent of its own: a pool with one busy worker, waiting for it (run as a program)."""
    from driftline.batch.pool import WorkerPool

    pool = WorkerPool(1)
    pool.submit(leave_mark_later, path, 4.0).result()


def alive(pid: int) -> bool:
    """Whether a process runs (one that waits to be reaped does not)."""
    state = subprocess.run(["ps", "-o", "stat=", "-p", str(pid)], capture_output=True, text=True, check=False)
    return bool(state.stdout.strip()) and not state.stdout.strip().startswith("Z")
