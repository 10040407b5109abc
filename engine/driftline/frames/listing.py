"""Find the raw files of a shoot."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from operator import attrgetter
from pathlib import Path
from typing import NamedTuple

from driftline.errors import FrameError
from driftline.frames.pairing import JPEG_SUFFIXES

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


_Jpegs = dict[str, list[tuple[str, int, int]]]


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
    beside: dict[str, _Jpegs] = {}
    for given in paths:
        path = Path(given).expanduser()
        if path.is_dir():
            _check_folder(path)
            below = {each.path: each for each in _walk(str(path), set())}
            found = {**found, **below, **found} if found else below
        elif path.exists():
            found.setdefault(str(path), _alone(path, beside))
        else:
            raise FrameError(
                "frame-missing", f"{path}: there is no such file or folder", hint="check the path"
            )
    return list(found.values())


def _alone(path: Path, folders: dict[str, _Jpegs]) -> Listed:
    """A file that was named itself; what lies in its folder is looked up once for all files in it."""
    status, folder = path.stat(), os.path.dirname(os.path.abspath(path))
    if folder not in folders:
        try:
            folders[folder] = _jpegs_among(_listed(folder))
        except OSError:
            folders[folder] = {}
    beside = tuple(folders[folder].get(_stem(path.name), ()))
    return Listed(str(path), status.st_size, status.st_mtime_ns, status.st_ino, beside)


def _check_folder(path: Path) -> None:
    if not os.access(path, os.R_OK | os.X_OK):
        raise FrameError(
            "frame-unreadable", f"{path}: there is no permission to list it", hint=f"chmod u+rx {path.name}"
        )


def _walk(folder: str, seen: set[tuple[int, int]]) -> Iterator[Listed]:
    """Raw files below a folder, sorted by path; folders behind links are entered once, so that loops end."""
    try:
        status = os.stat(folder)
        entries = _listed(folder)
    except OSError:  # gone, or not for us to read: the rest is listed all the same
        return
    if (status.st_dev, status.st_ino) in seen:
        return
    seen.add((status.st_dev, status.st_ino))
    jpegs = _jpegs_among(entries)
    for entry, suffix in entries:
        try:
            if entry.is_dir():
                yield from _walk(entry.path, seen)
                continue
            if suffix not in RAW_SUFFIXES or not entry.is_file():
                continue
            found = entry.stat()
        except OSError:  # gone since
            continue
        beside = tuple(jpegs.get(_stem(entry.name), ())) if jpegs else ()
        yield Listed(entry.path, found.st_size, found.st_mtime_ns, found.st_ino, beside)


def _listed(folder: str) -> list[tuple[os.DirEntry[str], str]]:
    """What a folder holds and does not hide, by name, with its suffix in lower case."""
    with os.scandir(folder) as entries:
        shown = sorted((entry for entry in entries if entry.name[0] != "."), key=attrgetter("name"))
    return [(entry, entry.name[entry.name.rfind(".") :].lower()) for entry in shown]


def _stem(name: str) -> str:
    return name.rpartition(".")[0].lower()


def _jpegs_among(entries: Iterable[tuple[os.DirEntry[str], str]]) -> _Jpegs:
    """The JPEGs of a folder by their stem in lower case."""
    jpegs: _Jpegs = {}
    for entry, suffix in entries:
        if suffix in JPEG_SUFFIXES:
            try:
                if not entry.is_file():
                    continue
                found = entry.stat()
            except OSError:  # gone since
                continue
            one = (entry.name, found.st_size, found.st_mtime_ns)
            jpegs.setdefault(_stem(entry.name), []).append(one)
    return jpegs
