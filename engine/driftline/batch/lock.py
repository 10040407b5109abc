"""One run at a time in an output folder.

The lock is the kernel's (``flock``), so it is gone with the process that held it, however that ended. The
file it hangs on is removed with it; one left by a killed run is taken over.
"""

from __future__ import annotations

import fcntl
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

from driftline.errors import PrintError

_NAME: Final = ".driftline-run"


@contextmanager
def run_lock(folder: Path) -> Iterator[None]:
    """Hold an output folder for one run.

    Raises
    ------
    PrintError
        ``run-in-progress`` if another run holds it.
    """
    path = folder / _NAME
    descriptor = _locked(path)
    try:
        yield
    finally:
        path.unlink(missing_ok=True)
        os.close(descriptor)


def _locked(path: Path) -> int:
    """A descriptor of the lock file, locked; the file may vanish between opening and locking, then again."""
    while True:
        descriptor = os.open(path, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o666)
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            os.close(descriptor)
            raise PrintError(
                "run-in-progress",
                f"{path.parent}: another run is printing into this folder",
                hint="wait until it is done, or choose another output folder",
            ) from None
        if _same(path, descriptor):
            return descriptor
        os.close(descriptor)


def _same(path: Path, descriptor: int) -> bool:
    try:
        return os.path.samestat(path.stat(), os.fstat(descriptor))
    except FileNotFoundError:
        return False
