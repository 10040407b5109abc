"""One saver at a time: an exclusive lock that the kernel frees when its holder dies."""

from __future__ import annotations

import fcntl
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from driftline.errors import LedgerError
from driftline.ledger.files import os_error

STALE_AFTER_S = 10.0
_POLL_S = 0.004


@contextmanager
def exclusive(path: Path, *, wait_s: float) -> Iterator[None]:
    """Hold the lock file `path`, waiting at most `wait_s` seconds for another saver.

    Raises
    ------
    LedgerError
        ``ledger-busy`` when another program holds the lock for longer than that.
    """
    try:
        handle = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC | os.O_NOFOLLOW, 0o666)
    except OSError as error:
        raise os_error(error, path) from error
    try:
        _take(handle, path, wait_s)
        yield
    finally:
        os.close(handle)


def _take(handle: int, path: Path, wait_s: float) -> None:
    end = time.monotonic() + wait_s
    while True:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return
        except BlockingIOError:
            if time.monotonic() >= end:
                raise LedgerError(
                    "ledger-busy",
                    f"{path.parent.parent.parent}: another driftline has been saving here for {wait_s:g} s",
                    hint="wait for it to finish; the lock frees itself when that program ends",
                ) from None
            time.sleep(_POLL_S)
        except OSError as error:
            raise os_error(error, path) from error


def clear_dead(paths: list[Path]) -> None:
    """Remove lock files that a killed git left at `paths`; wait for those that may still be in use.

    To be called by the holder of the exclusive lock only. A lock is dead once it is 10 s old, by its own
    time or by having stood unchanged that long in front of us (so a wrong clock cannot keep it alive).
    """
    for path in paths:
        seen: tuple[int, int] | None = None
        since = time.monotonic()
        while (state := _identity(path)) is not None:
            if state != seen:
                seen, since = state, time.monotonic()
            age = time.time() - state[1] / 1e9
            if age >= STALE_AFTER_S or time.monotonic() - since >= STALE_AFTER_S:
                path.unlink(missing_ok=True)
            else:
                time.sleep(0.05)


def _identity(path: Path) -> tuple[int, int] | None:
    try:
        status = path.lstat()
    except FileNotFoundError:
        return None
    return status.st_ino, status.st_mtime_ns
