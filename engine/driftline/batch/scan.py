"""Look at the frames of a shoot by way of the index: only what is new or changed is read."""

from __future__ import annotations

import gc
import json
import os
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import fields
from datetime import datetime
from itertools import chain
from pathlib import Path
from typing import Any, Final, TypeVar

from driftline.batch.index import Index, Row
from driftline.errors import DriftlineError
from driftline.frames import ExposureData, Listed, RawFrame, Sight, find_frames, sight

_THREADS: Final = 4
"""Readers that wait for a disk at once."""
_QUICK_S: Final = 1e-3
"""A file read in less comes out of memory: then one reader is faster than several that take turns."""
_KEPT_AT_ONCE: Final = 2000
_READ_AT_ONCE: Final = 50
_PATHS: Final = ("utf-8", "surrogateescape")
"""How paths are kept as bytes."""
T = TypeVar("T")
_EXPOSURE: Final = tuple(field.name for field in fields(ExposureData))


class Seen:
    """One frame of a shoot as it lies there, and what is known of it."""

    __slots__ = ("_sight", "changed", "listed", "problem", "row")

    def __init__(
        self, listed: Listed, row: Row, fresh: Sight | None = None, *, changed: bool = False
    ) -> None:
        self.listed = listed
        self.row = row
        self._sight: Sight | str | None = fresh
        self.changed = changed
        self.problem = fresh.problem if fresh else ""
        """Why it cannot be read, or nothing; such a frame is looked at anew each time."""

    @property
    def path(self) -> Path:
        """Where it lies."""
        return Path(self.listed.path)

    @property
    def sight(self) -> Sight:
        """What was read of it: as :func:`recall_sights` found it in the index, else read now."""
        if not isinstance(self._sight, Sight):
            try:
                self._sight = _read_back(self._sight or self.row.sight or "")
            except (ValueError, TypeError, KeyError):  # somebody else wrote there
                self._sight = _look(self.listed)
        return self._sight

    def recalled(self, sights: Mapping[bytes, str]) -> None:
        """Take what the index has of it, unless it was read just now."""
        if self._sight is None:
            self._sight = sights.get(self.row.path)

    def quick(self) -> str | None:
        """Its quick fingerprint, computed if it was not yet; None if it cannot be read."""
        if self.row.quick is None:
            self.row = self.row._replace(quick=_tried(RawFrame(self.path).quick_fingerprint))
            self.changed = True
        return self.row.quick

    def full(self) -> str | None:
        """Its full fingerprint, computed if it was not yet; None if it cannot be read."""
        if self.row.full is None:
            self.row = self.row._replace(full=_tried(RawFrame(self.path).fingerprint))
            self.changed = True
        return self.row.full


def scan(listed: Sequence[Listed], roots: Iterable[str | os.PathLike[str]], index: Index) -> list[Seen]:
    """What there is, each frame read now or before.

    Parameters
    ----------
    listed
        The frames, as :func:`~driftline.frames.find_frames` gives them.
    roots
        What was searched for them: what the index has there and is not listed, is gone.
    index
        Brought up to date as far as it can be.
    """
    known = {path: row for root in roots for path, row in _known_below(root, index)}
    any_known = bool(known) or index.holds_any()
    found: list[Seen] = []
    moved: list[Row] = []
    new: dict[int, Row] = {}
    for each in listed:
        row = known.pop(each[0], None)
        if row is None or not _holds(row, each):
            path = os.path.abspath(each.path).encode(*_PATHS)
            row = _called_otherwise(each, index) if row is None and any_known else None
            if row is None:
                new[len(found)] = row = _bare(each, path)
            elif row.path != path:
                row = row._replace(path=path)
                moved.append(row)
        found.append(Seen(each, row))
    for place, seen in _read(listed, list(new.items()), index):
        found[place] = seen
    index.keep(moved, [row.path for row in known.values()])
    return found


def _known_below(root: str | os.PathLike[str], index: Index) -> Iterator[tuple[str, Row]]:
    """What the index has of a root, by what :func:`~driftline.frames.find_frames` calls each file there."""
    called = str(Path(root).expanduser()).rstrip(os.sep)
    top = os.fsencode(os.path.abspath(called or os.sep))
    length = len(top.rstrip(b"/"))
    if called == os.fsdecode(top[:length]):
        return ((row[0].decode(*_PATHS), row) for row in index.below(top))
    return ((called + row[0][length:].decode(*_PATHS), row) for row in index.below(top))


def recall_sights(seen: Iterable[Seen], roots: Iterable[str | os.PathLike[str]], index: Index) -> None:
    """Take out of the index what was read of frames that a scan found unchanged."""
    tops = [os.fsencode(os.path.abspath(Path(root).expanduser())) for root in roots]
    sights = dict(chain.from_iterable(map(index.sights_below, tops)))
    for each in seen:
        each.recalled(sights)


def keep(seen: Iterable[Seen], index: Index) -> None:
    """Keep what was learned of frames since they were last kept."""
    changed = [each for each in seen if each.changed and not each.problem]
    index.keep(each.row for each in changed)
    for each in changed:
        each.changed = False


@contextmanager
def uncollected() -> Iterator[None]:
    """Hold the garbage collector off: of so many small objects that all stay, it finds none.

    Afterwards they count as old, which spares it looking through all of them at the next opportunity.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.freeze()
            gc.unfreeze()
            gc.enable()


def learn(index: Index, fingerprints: Mapping[Path, tuple[str | None, str]]) -> None:
    """Keep the full fingerprints that a run came to know, so that no file is read once more for them.

    Parameters
    ----------
    index
        Where they are kept.
    fingerprints
        Quick and full, by path. A file that is gone, or has another quick fingerprint by now, is left out.
    """
    paths = [path for path in fingerprints if path.is_file()]
    seen = scan(find_frames(paths), paths, index)
    at_once([each for each in seen if each.row.full is None], Seen.quick)
    for each in seen:
        quick, full = fingerprints[each.path]
        if each.row.full is None and quick is not None and each.row.quick == quick:
            each.row, each.changed = each.row._replace(full=full), True
    keep(seen, index)


def at_once(frames: Iterable[Seen], wanted: Callable[[Seen], object]) -> None:
    """Have something computed for many frames, several at a time."""
    with ThreadPoolExecutor(_THREADS) as threads:
        list(threads.map(wanted, frames))


def _holds(row: Row, listed: Listed) -> bool:
    """Whether what was read of a file still holds: nothing about it or its JPEGs has changed."""
    return (
        row[1] == listed[1]
        and row[2] == listed[2]
        and row[3] == listed[3]
        and (not (row[4] or listed[4]) or row[4] == _jpegs(listed))
    )


def _jpegs(listed: Listed) -> str | None:
    return json.dumps(listed.jpegs) if listed.jpegs else None


def _bare(listed: Listed, path: bytes) -> Row:
    """A frame of which nothing was read yet."""
    return Row(path, listed.size, listed.mtime_ns, listed.inode, _jpegs(listed), None, None, None, None)


def _called_otherwise(listed: Listed, index: Index) -> Row | None:
    """The row of a file that was renamed or moved on its disk: same file, size and time of change."""
    rows = index.of_inode(listed.inode, listed.size)
    return next((row for row in rows if _holds(row, listed)), None)


def _read(
    listed: Sequence[Listed], new: Sequence[tuple[int, Row]], index: Index
) -> Iterator[tuple[int, Seen]]:
    """Read what is new, several at once; what was read is kept now and then, in case this is stopped."""

    def read(some: Sequence[tuple[int, Row]]) -> list[tuple[int, Seen]]:
        return [(place, _first_seen(listed[place], bare)) for place, bare in some]

    with ThreadPoolExecutor(_THREADS) as threads:
        for part in _parts(new, _KEPT_AT_ONCE):
            start = time.monotonic()
            seen = read(part[:_READ_AT_ONCE])
            waited = time.monotonic() - start > _QUICK_S * len(seen)
            rest = _parts(part[_READ_AT_ONCE:], _READ_AT_ONCE)
            seen += chain.from_iterable(threads.map(read, rest) if waited else map(read, rest))
            keep([each for _, each in seen], index)
            yield from seen


def _parts(whole: Sequence[T], size: int) -> Iterator[Sequence[T]]:
    return (whole[start : start + size] for start in range(0, len(whole), size))


def _first_seen(listed: Listed, bare: Row) -> Seen:
    fresh = _look(listed)
    taken = fresh.exposure.taken.isoformat() if fresh.exposure.taken else None
    return Seen(listed, bare._replace(taken=taken, sight=_written(fresh)), fresh, changed=True)


def _look(listed: Listed) -> Sight:
    return sight(Path(listed.path), [name for name, _, _ in listed.jpegs])


def _tried(fingerprint: Callable[[], str]) -> str | None:
    try:
        return fingerprint()
    except (DriftlineError, OSError):
        return None


def _written(seen: Sight) -> str:
    """What was read of a frame, as JSON; what is not known is left out."""
    told: dict[str, Any] = {name: getattr(seen.exposure, name) for name in _EXPOSURE}
    exposure = {name: value for name, value in told.items() if value is not None and value != ()}
    if "taken" in exposure:
        exposure["taken"] = exposure["taken"].isoformat()
    rest = [seen.rendering, seen.has_rendering, seen.paired, seen.unpaired]
    return json.dumps([exposure, *rest], separators=(",", ":"))


def _read_back(text: str) -> Sight:
    exposure, rendering, has_rendering, paired, unpaired = json.loads(text)
    if "taken" in exposure:
        exposure["taken"] = datetime.fromisoformat(exposure["taken"])
    if "doubts" in exposure:
        exposure["doubts"] = tuple(exposure["doubts"])
    return Sight(ExposureData(**exposure), rendering, has_rendering, paired, unpaired)
