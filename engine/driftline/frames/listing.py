"""Find the raw files of a shoot."""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import NamedTuple

from driftline.errors import FrameError
from driftline.frames.pairing import JPEG_SUFFIXES, companions

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


class Listed(NamedTuple):
    """A raw file as its folder lists it.

    Attributes
    ----------
    path
        As text; absolute only if what was asked for was.
    size, mtime_ns, inode
        What tells a changed file from an unchanged one.
    jpegs
        The JPEGs of its stem in its folder: (name, size, mtime_ns) each, in order of name.
    """

    path: str
    size: int
    mtime_ns: int
    inode: int
    jpegs: tuple[tuple[str, int, int], ...]


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
    return [Path(each.path) for each in find_frames(paths)]


def find_frames(paths: Iterable[str | os.PathLike[str]]) -> list[Listed]:
    """As :func:`list_frames`, each with what its folder says of it and of the JPEGs beside it."""
    found: dict[str, Listed] = {}
    for given in paths:
        path = Path(given).expanduser()
        if path.is_dir():
            _check_folder(path)
            below = sorted(_walk(str(path)), key=lambda each: each.path.split(os.sep))
            for each in below:
                found.setdefault(each.path, each)
        elif path.exists():
            found.setdefault(str(path), _alone(path))
        else:
            raise FrameError(
                "frame-missing", f"{path}: there is no such file or folder", hint="check the path"
            )
    return list(found.values())


def _alone(path: Path) -> Listed:
    """A file that was named itself."""
    status = path.stat()
    beside = [(each, each.stat()) for each in companions(path)]
    jpegs = tuple((each.name, jpeg.st_size, jpeg.st_mtime_ns) for each, jpeg in beside)
    return Listed(str(path), status.st_size, status.st_mtime_ns, status.st_ino, jpegs)


def _check_folder(path: Path) -> None:
    if not os.access(path, os.R_OK | os.X_OK):
        raise FrameError(
            "frame-unreadable", f"{path}: there is no permission to list it", hint=f"chmod u+rx {path.name}"
        )


def _walk(top: str) -> Iterator[Listed]:
    """Raw files below a folder; folders behind links are entered once, so that loops end."""
    seen: set[tuple[int, int]] = set()
    waiting = [top]
    while waiting:
        here = waiting.pop()
        try:
            status = os.stat(here)
            with os.scandir(here) as listing:
                entries = [entry for entry in listing if not entry.name.startswith(".")]
        except OSError:  # gone, or not for us to read: the rest is listed all the same
            continue
        if (status.st_dev, status.st_ino) in seen:
            continue
        seen.add((status.st_dev, status.st_ino))
        waiting += [entry.path for entry in entries if entry.is_dir()]
        yield from _in_folder(entries)


def _in_folder(entries: Iterable[os.DirEntry[str]]) -> Iterator[Listed]:
    raws: list[tuple[str, str, os.stat_result]] = []
    jpegs: dict[str, list[tuple[str, int, int]]] = defaultdict(list)
    for entry in entries:
        stem, suffix = os.path.splitext(entry.name)
        raw = suffix.lower() in RAW_SUFFIXES
        if not (raw or suffix.lower() in JPEG_SUFFIXES):
            continue
        try:
            if not entry.is_file():
                continue
            status = entry.stat()
        except OSError:  # gone since
            continue
        if raw:
            raws.append((stem.lower(), entry.path, status))
        else:
            jpegs[stem.lower()].append((entry.name, status.st_size, status.st_mtime_ns))
    for stem, path, status in raws:
        beside = tuple(sorted(jpegs[stem])) if stem in jpegs else ()
        yield Listed(path, status.st_size, status.st_mtime_ns, status.st_ino, beside)
