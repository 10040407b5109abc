"""Files of the ledger's folder: read without following links, written whole or not at all."""

from __future__ import annotations

import errno
import fcntl
import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path, PurePosixPath

from driftline.errors import LedgerError

PRIVATE = ".git/driftline"
"""Where this copy keeps its own notes: inside .git, so git and backups by clone never see them."""


def os_error(error: OSError, path: Path | str) -> LedgerError:
    """The error of the operating system, as one that says what to do next."""
    if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return LedgerError(
            "ledger-disk-full",
            f"{path}: no space left on the disk; nothing was changed",
            hint="make room on that disk, then run the same command again",
        )
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return LedgerError(
            "ledger-read-only",
            f"{path}: this user may not write here ({error.strerror}); nothing was changed",
            hint="check owner and permissions of the ledger's folder, or clone it: git clone OLD NEW",
        )
    if error.errno in (errno.ELOOP, errno.ENOTDIR):
        return LedgerError(
            "ledger-link",
            f"{path}: a symbolic link or not a folder, where the ledger keeps a file or folder of its own",
            hint="replace the link by the real file; links are not followed",
        )
    return LedgerError("ledger-broken", f"{path}: {error.strerror or error}", hint="git fsck in the ledger")


class WorkingFolder:
    """The files of one ledger, addressed by paths like ``recipes/tram-fog.toml``.

    Every step into a folder is taken from an open descriptor and refuses symbolic links, so nothing is
    read or written outside the ledger, whatever a received one contains.
    """

    def __init__(self, root: Path) -> None:
        self.root = root

    def read(self, path: str, *, limit: int | None = None) -> bytes | None:
        """The bytes of a file, None if there is none.

        Raises
        ------
        LedgerError
            ``ledger-link`` for anything but a regular file, ``ledger-file-too-large`` beyond `limit` bytes.
        """
        try:
            with self._folder_of(path) as folder:
                handle = os.open(
                    PurePosixPath(path).name,
                    os.O_RDONLY | os.O_NOFOLLOW | os.O_NONBLOCK | os.O_CLOEXEC,
                    dir_fd=folder,
                )
        except FileNotFoundError:
            return None
        except OSError as error:
            raise os_error(error, self.root / path) from error
        with open(handle, "rb") as file:
            self._check(os.fstat(handle), path, limit)
            return file.read()

    def _check(self, status: os.stat_result, path: str, limit: int | None) -> None:
        if not stat.S_ISREG(status.st_mode):
            raise LedgerError(
                "ledger-link", f"{self.root / path}: not a regular file", hint="replace it by a plain file"
            )
        if limit is not None and status.st_size > limit:
            raise LedgerError(
                "ledger-file-too-large",
                f"{self.root / path}: {status.st_size} bytes; allowed {limit}",
                hint="a recipe is a small text file; look whether this is the file you meant",
            )

    def write(self, path: str, content: bytes, *, durable: bool = True) -> None:
        """Replace a file as a whole: temporary file, flush, sync, atomic rename, sync of the folder."""
        temporary = f"new-{os.getpid()}-{os.urandom(4).hex()}"
        try:
            with self._folder_of(f"{PRIVATE}/{temporary}", create=True) as private:
                self._fill(temporary, private, content, durable=durable)
                try:
                    with self._folder_of(path, create=True) as folder:
                        os.rename(temporary, PurePosixPath(path).name, src_dir_fd=private, dst_dir_fd=folder)
                        if durable:
                            flush(folder)
                except OSError:
                    os.unlink(temporary, dir_fd=private)
                    raise
        except OSError as error:
            raise os_error(error, self.root / path) from error

    @staticmethod
    def _fill(name: str, folder: int, content: bytes, *, durable: bool) -> None:
        handle = os.open(
            name, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_NOFOLLOW | os.O_CLOEXEC, 0o666, dir_fd=folder
        )
        try:
            with open(handle, "wb") as file:
                file.write(content)
                file.flush()
                if durable:
                    flush(handle)
        except OSError:
            os.unlink(name, dir_fd=folder)
            raise

    def write_at(self, path: str, place: int, content: bytes) -> None:
        """Put bytes into a file at a place and end it there; not synced, for notes that can be made again."""
        try:
            with self._folder_of(path, create=True) as folder:
                flags = os.O_WRONLY | os.O_CREAT | os.O_NOFOLLOW | os.O_CLOEXEC
                handle = os.open(PurePosixPath(path).name, flags, 0o666, dir_fd=folder)
                with open(handle, "wb") as file:
                    file.seek(place)
                    file.write(content)
                    file.truncate()
        except OSError as error:
            raise os_error(error, self.root / path) from error

    def make_folder(self, path: str) -> None:
        """Make a folder and those above it."""
        try:
            with self._folder_of(f"{path}/x", create=True):
                pass
        except OSError as error:
            raise os_error(error, self.root / path) from error

    def remove(self, path: str) -> None:
        """Remove a file if it is there."""
        try:
            with self._folder_of(path) as folder:
                os.unlink(PurePosixPath(path).name, dir_fd=folder)
                flush(folder)
        except FileNotFoundError:
            pass
        except OSError as error:
            raise os_error(error, self.root / path) from error

    def stems(self, folder: str, suffix: str) -> list[str]:
        """Sorted stems of the files of a folder that end in `suffix`; hidden ones are left out."""
        try:
            with self._folder_of(f"{folder}/x") as handle:
                names = os.listdir(handle)
        except FileNotFoundError:
            return []
        except OSError as error:
            raise os_error(error, self.root / folder) from error
        return sorted(n.removesuffix(suffix) for n in names if n.endswith(suffix) and not n.startswith("."))

    @contextmanager
    def _folder_of(self, path: str, *, create: bool = False) -> Iterator[int]:
        parts = PurePosixPath(path).parts
        if path.startswith("/") or ".." in parts:
            raise LedgerError("ledger-link", f"{path}: outside the ledger", hint="use a path inside it")
        handle = os.open(self.root, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
        try:
            for part in parts[:-1]:
                following, handle = handle, -1
                handle = _step(following, part, create=create)
            yield handle
        finally:
            if handle >= 0:
                os.close(handle)


def _step(folder: int, name: str, *, create: bool) -> int:
    flags = os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW | os.O_CLOEXEC
    try:
        try:
            return os.open(name, flags, dir_fd=folder)
        except FileNotFoundError:
            if not create:
                raise
            try:
                os.mkdir(name, dir_fd=folder)
                flush(folder)
            except FileExistsError:
                pass
            return os.open(name, flags, dir_fd=folder)
    finally:
        os.close(folder)


def flush(handle: int) -> None:
    """Bring an open file or folder to the disk, out of every memory on the way."""
    whole = getattr(fcntl, "F_FULLFSYNC", None)  # macOS: fsync stops at the disk's own memory
    if whole is not None:
        with suppress(OSError):
            fcntl.fcntl(handle, whole)
            return
    os.fsync(handle)


def sync_folder(path: Path) -> None:
    """Make renames in a folder durable; a folder that went away meanwhile needs none."""
    _sync(path, os.O_DIRECTORY)


def sync_object(root: Path, name: str) -> None:
    """Make a loose object durable, and its entry in its folder.

    Not left to git alone: ``mktree`` does not read core.fsync (seen with strace, git 2.39). An object that
    is packed already has no file of its own.
    """
    folder = root / ".git" / "objects" / name[:2]
    _sync(folder / name[2:], 0)
    sync_folder(folder)


def _sync(path: Path, flags: int) -> None:
    try:
        handle = os.open(path, os.O_RDONLY | os.O_CLOEXEC | flags)
    except FileNotFoundError:
        return
    except OSError as error:
        raise os_error(error, path) from error
    try:
        flush(handle)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP):  # a file system that syncs no folders
            raise os_error(error, path) from error
    finally:
        os.close(handle)
