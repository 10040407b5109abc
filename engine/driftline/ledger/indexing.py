"""Write step 4: git's index told of what was just written, so that ``git status`` stays clean.

git would do this itself with ``update-index``, but a git killed there leaves ``index.lock`` behind for
ever, and nobody could tell it from the lock of an editor that is still open. So the lock is taken here, as
a hard link to a file of ours: a lock left by a killed saver is known by that file, and taken away.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from pathlib import Path

from driftline.errors import LedgerError
from driftline.ledger.files import PRIVATE
from driftline.ledger.plumbing import Plumbing


def set_entries(git: Plumbing, root: Path, blobs: Mapping[str, str | None]) -> bool:
    """Set (None: drop) the index entries of some paths and leave all others alone.

    To be called with the exclusive lock held. False if someone else holds the index; it is done later.
    """
    lock, ours = root / ".git" / "index.lock", root / PRIVATE / "index-lock"
    try:
        _clear_ours(lock, ours)
        os.close(os.open(ours, os.O_WRONLY | os.O_CREAT | os.O_NOFOLLOW | os.O_CLOEXEC, 0o666))
        try:
            os.link(ours, lock)
        except FileExistsError:
            return False
        except OSError:  # a file system without hard links
            return _update(git, blobs, {})
        try:
            return _replace(git, root, blobs)
        finally:
            lock.unlink(missing_ok=True)
    except OSError:
        return False


def _clear_ours(lock: Path, ours: Path) -> None:
    try:
        if lock.lstat().st_ino == ours.lstat().st_ino:
            lock.unlink()
    except FileNotFoundError:
        pass


def _replace(git: Plumbing, root: Path, blobs: Mapping[str, str | None]) -> bool:
    index, fresh = root / ".git" / "index", root / PRIVATE / "index-new"
    fresh.unlink(missing_ok=True)
    (root / PRIVATE / "index-new.lock").unlink(missing_ok=True)
    if index.exists():
        shutil.copyfile(index, fresh)
    if not _update(git, blobs, {"GIT_INDEX_FILE": str(fresh)}):
        return False
    if fresh.exists():
        fresh.replace(index)
    return True


def _update(git: Plumbing, blobs: Mapping[str, str | None], environment: Mapping[str, str]) -> bool:
    width = max((len(blob) for blob in blobs.values() if blob), default=40)
    lines = [
        f"100644 {blob}\t{path}\0" if blob else f"0 {'0' * width}\t{path}\0" for path, blob in blobs.items()
    ]
    try:
        git.run("update-index", "-z", "--index-info", stdin="".join(lines).encode(), environment=environment)
    except LedgerError:
        return False
    return True
