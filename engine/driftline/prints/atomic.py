"""The one place that writes files next to a photographer's pictures.

Steps, and what a crash after each of them leaves:

1. a part file of our own name in the same folder: a part file;
2. content, flushed and synced to disk: a part file;
3. linked under its name, or put in place of the old file: the whole new file (and perhaps the part file);
4. the folder synced: the same, for good.

A part file is never a print, and :func:`sweep` takes away what killed runs left.
"""

from __future__ import annotations

import errno
import io
import os
import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO, Final

from driftline.errors import PrintError

_PART_START: Final = ".driftline-"
_PART_END: Final = ".part"
_NO_LINKS = {errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK}
_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}


def write_file(path: Path, content: bytes, *, replace: bool = False) -> None:
    """Write a file whole or not at all.

    Parameters
    ----------
    path
        Where; its folder is there already.
    content
        All of the file.
    replace
        Put it in place of what stands there. Otherwise whatever stands there stays.

    Raises
    ------
    PrintError
        ``print-exists`` if something stands there and ``replace`` was not asked; ``disk-full``;
        ``cannot-write`` with the system's own words.
    """
    part = path.with_name(f"{_PART_START}{os.getpid()}-{secrets.token_hex(4)}{_PART_END}")
    try:
        with _gone_afterwards(part):
            _write_synced(part, content)
            _put_in_place(part, path, replace=replace)
            _sync_folder(path.parent)
    except FileExistsError as error:
        raise PrintError(
            "print-exists",
            f"{path}: something stands there already and was left alone",
            hint="another output folder, or move that file away",
        ) from error
    except OSError as error:
        code = "disk-full" if error.errno in _FULL else "cannot-write"
        raise PrintError(
            code, f"{path}: {error.strerror or error}", hint="a folder with space that can be written to"
        ) from error


def write_new(path: Path, save: Callable[[BinaryIO], object]) -> None:
    """As :func:`write_file`, of what a library writes into an open file.

    Raises
    ------
    PrintError
        ``print-exists`` and the others.
    """
    content = io.BytesIO()
    save(content)
    write_file(path, content.getvalue())


def sweep(folder: Path) -> int:
    """Remove the part files that killed runs left in a folder; how many there were.

    Call it only where no other run can be writing.
    """
    parts = list(folder.glob(f"{_PART_START}*{_PART_END}"))
    for part in parts:
        part.unlink(missing_ok=True)
    return len(parts)


@contextmanager
def _gone_afterwards(part: Path) -> Iterator[None]:
    try:
        yield
    finally:
        part.unlink(missing_ok=True)


def _write_synced(part: Path, content: bytes) -> None:
    with open(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o666), "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _put_in_place(part: Path, path: Path, *, replace: bool) -> None:
    if replace:
        os.replace(part, path)
        return
    try:
        os.link(part, path)
    except OSError as error:
        if error.errno not in _NO_LINKS:
            raise
        if os.path.lexists(path):  # memory cards and sticks know no links; our own runs hold a lock here
            raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path)) from error
        os.replace(part, path)


def _sync_folder(folder: Path) -> None:
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        os.fsync(descriptor)
    except OSError as error:
        if error.errno != errno.EINVAL:  # some network file systems cannot sync a folder
            raise
    finally:
        os.close(descriptor)
