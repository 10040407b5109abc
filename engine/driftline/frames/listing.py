"""Find the raw files of a shoot."""

from __future__ import annotations

import os
from collections.abc import Iterable
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


_USUAL = {form(suffix): suffix for suffix in RAW_SUFFIXES for form in (str.lower, str.upper)}
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
    found: list[Listed] = []
    given = [Path(path).expanduser() for path in paths]
    beside: dict[str, _Jpegs] = {}
    for path in given:
        if path.is_dir():
            _check_folder(path)
            _walk(str(path), set(), found)
        elif path.exists():
            found.append(_alone(path, beside))
        else:
            raise FrameError(
                "frame-missing", f"{path}: there is no such file or folder", hint="check the path"
            )
    if len(given) == 1:
        return found
    first = {each.path: each for each in reversed(found)}
    return [first.pop(each.path) for each in found if each.path in first]


def _alone(path: Path, folders: dict[str, _Jpegs]) -> Listed:
    """A file that was named itself; what lies in its folder is looked up once for all files in it."""
    status, folder = path.stat(), os.path.dirname(os.path.abspath(path))
    if folder not in folders:
        try:
            folders[folder] = _look_into(folder).jpegs
        except OSError:
            folders[folder] = {}
    beside = tuple(folders[folder].get(_stem(path.name), ()))
    return Listed(str(path), status.st_size, status.st_mtime_ns, status.st_ino, beside)


def _check_folder(path: Path) -> None:
    if not os.access(path, os.R_OK | os.X_OK):
        raise FrameError(
            "frame-unreadable", f"{path}: there is no permission to list it", hint=f"chmod u+rx {path.name}"
        )


class _Inside(NamedTuple):
    """What lies in one folder: raw files by path, JPEGs by their stem in lower case, paths of folders."""

    raws: list[Listed]
    jpegs: _Jpegs
    folders: list[str]


def _walk(folder: str, seen: set[tuple[int, int]], found: list[Listed]) -> None:
    """Find raw files below a folder, sorted by path; folders behind links are entered once: loops end."""
    try:
        status = os.stat(folder)
        raws, jpegs, folders = _look_into(folder)
    except OSError:  # gone, or not for us to read: the rest is listed all the same
        return
    if (status.st_dev, status.st_ino) in seen:
        return
    seen.add((status.st_dev, status.st_ino))
    if jpegs:
        raws = [raw._replace(jpegs=tuple(jpegs.get(_stem(raw.path), ()))) for raw in raws]
    if not folders:
        found += raws
        return
    inside = {**dict.fromkeys(folders), **{raw.path: raw for raw in raws}}
    for path in sorted(inside):
        raw = inside[path]
        if raw is None:
            _walk(path, seen, found)
        else:
            found.append(raw)


def _look_into(folder: str) -> _Inside:
    """What lies in a folder, hidden files and folders left out.

    Read through an open descriptor: the system need not find its way to the folder once more for each file.
    To look over a shoot once more takes most of its time here, so it is one status and one tuple a file.
    """
    raws, jpegs, folders = inside = _Inside([], {}, [])
    above = folder.rstrip(os.sep) + os.sep
    descriptor = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        with os.scandir(descriptor) as entries:
            for entry in entries:
                name = entry.name
                if name[0] == ".":
                    continue
                suffix = _USUAL.get(name[-4:]) or name[name.rfind(".") :].lower()
                try:
                    if suffix in RAW_SUFFIXES and entry.is_file():
                        status = entry.stat()
                        told = above + name, status.st_size, status.st_mtime_ns, status.st_ino, ()
                        raws.append(tuple.__new__(Listed, told))  # as Listed(*told), in half the time
                    elif suffix in JPEG_SUFFIXES and entry.is_file():
                        status = entry.stat()
                        jpegs.setdefault(_stem(name), []).append((name, status.st_size, status.st_mtime_ns))
                    elif entry.is_dir():
                        folders.append(above + name)
                except OSError:  # gone since
                    continue
    finally:
        os.close(descriptor)
    raws.sort(key=itemgetter(0))
    for alike in jpegs.values():
        alike.sort()
    return inside


def _stem(path: str) -> str:
    """The name without folder and suffix, in lower case."""
    return path.rpartition(os.sep)[2].rpartition(".")[0].lower()
