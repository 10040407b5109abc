"""Find the raw files of a shoot."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from operator import itemgetter
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
_Entry = tuple[str, str, os.stat_result | None]  # name, suffix in lower case, None for a folder
_WANTED = RAW_SUFFIXES | JPEG_SUFFIXES


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
            folders[folder] = _jpegs_among(_entries(folder))
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
        entries = _entries(folder)
    except OSError:  # gone, or not for us to read: the rest is listed all the same
        return
    if (status.st_dev, status.st_ino) in seen:
        return
    seen.add((status.st_dev, status.st_ino))
    jpegs = _jpegs_among(entries)
    above = folder.rstrip(os.sep) + os.sep
    for name, suffix, found in entries:
        if found is None:
            yield from _walk(above + name, seen)
        elif suffix in RAW_SUFFIXES:
            beside = tuple(jpegs.get(_stem(name), ())) if jpegs else ()
            yield Listed(above + name, found.st_size, found.st_mtime_ns, found.st_ino, beside)


def _entries(folder: str) -> list[_Entry]:
    """Folders, raw files and JPEGs in a folder, by name; hidden ones left out.

    Read through an open descriptor: the system need not find its way to the folder once more for each file.
    """
    found: list[_Entry] = []
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        with os.scandir(descriptor) as entries:
            for entry in entries:
                name = entry.name
                suffix = name[name.rfind(".") :].lower()
                if name[0] == ".":
                    continue
                try:
                    if entry.is_dir():
                        found.append((name, "", None))
                    elif suffix in _WANTED and entry.is_file():
                        found.append((name, suffix, entry.stat()))
                except OSError:  # gone since
                    continue
    finally:
        os.close(descriptor)
    found.sort(key=itemgetter(0))
    return found


def _stem(name: str) -> str:
    return name.rpartition(".")[0].lower()


def _jpegs_among(entries: Iterable[_Entry]) -> _Jpegs:
    """The JPEGs of a folder by their stem in lower case."""
    jpegs: _Jpegs = {}
    for name, suffix, found in entries:
        if found is not None and suffix in JPEG_SUFFIXES:
            jpegs.setdefault(_stem(name), []).append((name, found.st_size, found.st_mtime_ns))
    return jpegs
