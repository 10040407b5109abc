"""Find the raw files of a shoot."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from pathlib import Path

from driftline.errors import FrameError

RAW_SUFFIXES = frozenset(
    [
        ".3fr",
        ".arw",
        ".bay",
        ".cap",
        ".cr2",
        ".cr3",
        ".crw",
        ".dcr",
        ".dcs",
        ".dng",
        ".erf",
        ".fff",
        ".gpr",
        ".iiq",
        ".k25",
        ".kdc",
        ".mef",
        ".mos",
        ".mrw",
        ".nef",
        ".nrw",
        ".orf",
        ".ori",
        ".pef",
        ".ptx",
        ".raf",
        ".raw",
        ".rw2",
        ".rwl",
        ".rwz",
        ".sr2",
        ".srf",
        ".srw",
        ".x3f",
    ]
)


def list_frames(paths: Iterable[str | os.PathLike[str]]) -> list[Path]:
    """The raw files among files and folders.

    Parameters
    ----------
    paths
        Folders are searched to any depth for files with a raw suffix (any case), hidden files and folders
        left out; files named one by one are taken whatever their suffix.

    Returns
    -------
    list of Path
        Each folder's files sorted by path; the order of ``paths`` kept; a file named twice comes once.

    Raises
    ------
    FrameError
        ``frame-missing`` if a path does not exist, ``frame-unreadable`` if a folder may not be listed.
    """
    found: dict[Path, None] = {}
    for given in paths:
        path = Path(given).expanduser()
        if path.is_dir():
            _check_folder(path)
            found.update(dict.fromkeys(sorted(_walk(path))))
        elif path.exists():
            found[path] = None
        else:
            raise FrameError(
                "frame-missing", f"{path}: there is no such file or folder", hint="check the path"
            )
    return list(found)


def _check_folder(path: Path) -> None:
    if not os.access(path, os.R_OK | os.X_OK):
        raise FrameError(
            "frame-unreadable", f"{path}: there is no permission to list it", hint=f"chmod u+rx {path.name}"
        )


def _walk(folder: Path) -> Iterator[Path]:
    """Raw files below a folder; folders behind links are entered once, so that loops end."""
    seen: set[tuple[int, int]] = set()
    for here, folders, files in os.walk(folder, followlinks=True):
        status = os.stat(here)
        if (status.st_dev, status.st_ino) in seen:
            folders.clear()
            continue
        seen.add((status.st_dev, status.st_ino))
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in files:
            path = Path(here, name)
            if not name.startswith(".") and path.suffix.lower() in RAW_SUFFIXES and path.is_file():
                yield path
