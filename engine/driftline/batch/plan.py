"""Which prints a run has to make, by content: what is there already, what must stay, what is left to do.

Nothing is decided by dates or by the mere presence of a name.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from driftline.batch.fingerprints import Fingerprints
from driftline.batch.job import making_of, recipe_of
from driftline.batch.names import check_parts, distinct, print_stem
from driftline.batch.order import Failed, Form, Job, Kept, Look
from driftline.errors import DriftlineError, PrintError, UsageError
from driftline.frames import RAW_SUFFIXES, RawFrame, list_frames
from driftline.prints import Making, Provenance, glance, read_provenance

SUFFIXES: Final = {"jpeg": ".jpg", "tiff": ".tif"}


@dataclass
class Plan:
    """What is to be done, and what is not, and why; each in the order of the frames."""

    jobs: list[Job] = field(default_factory=list)
    there: list[Kept] = field(default_factory=list)
    older: list[Kept] = field(default_factory=list)
    failed: list[Failed] = field(default_factory=list)


def frames_of(paths: Iterable[str | os.PathLike[str]]) -> list[Path]:
    """All frames that are meant: those in folders, and files named one by one even if they are not there.

    A named file that is missing fails like any other bad frame; it does not stop the rest.

    Raises
    ------
    UsageError
        ``no-frames`` if nothing is meant at all.
    """
    given = [Path(path).expanduser() for path in paths]
    found = dict.fromkeys(frame for path in given for frame in _frames_at(path))
    if not found:
        raise UsageError(
            "no-frames",
            f"no raw files in {', '.join(map(str, given)) or 'nothing'}",
            hint="a folder that holds raw files, or the files themselves",
        )
    return list(found)


def plan_run(
    frames: Sequence[Path],
    look: Look,
    form: Form,
    out: Path,
    *,
    refresh: bool = False,
    pinned: bool = True,
) -> Plan:
    """Decide for every frame.

    Parameters
    ----------
    frames
        As :func:`frames_of` gives them.
    look, form
        What the prints shall be.
    out
        Output folder, there already.
    refresh
        Print anew what was printed with another version or in another form.
    pinned
        The version was asked for by its number; otherwise a print by an older version is left at that.
    """
    return _Planning(look, form, out, refresh=refresh, pinned=pinned).plan(frames)


@dataclass(frozen=True)
class _Found:
    """A print of ours that lies in the output folder."""

    path: Path
    told: Provenance

    @property
    def making(self) -> Making:
        return self.told.making


class _Planning:
    def __init__(self, look: Look, form: Form, out: Path, *, refresh: bool, pinned: bool) -> None:
        self.look, self.form, self.out, self.refresh, self.pinned = look, form, out, refresh, pinned
        self.recipe, self.suffix = recipe_of(look), SUFFIXES[form.encoding]
        self.found = _prints_in(out)
        self.claimed: set[Path] = set()

    def plan(self, frames: Sequence[Path]) -> Plan:
        marks = Fingerprints(frames)
        known = {found.told.quick for found in self.found.values()}
        marks.compute(frame for frame in frames if marks.quick(frame) in known)
        targets = self._targets(frames, marks)
        exact = self._exact(targets, marks)
        result = Plan()
        for frame in frames:
            if frame in exact:
                result.there.append(_kept(frame, exact[frame]))
            else:
                self._decide(frame, targets[frame], marks, result)
        return result

    def _decide(self, frame: Path, target: Path, marks: Fingerprints, result: Plan) -> None:
        """A frame that has no print like the one asked for."""
        earlier = self._earlier(frame, marks)
        if earlier and not (self.refresh or self.pinned):
            result.older.append(_kept(frame, earlier[-1]))
            return
        try:
            replace = self._may_replace(frame, target, marks)
        except PrintError as error:
            result.failed.append(
                Failed(frame=str(frame), code=error.code, reason=error.message, hint=error.hint)
            )
            return
        result.jobs.append(
            Job(
                frame=frame,
                target=target,
                look=self.look,
                form=self.form,
                replace=replace,
            )
        )

    def _targets(self, frames: Sequence[Path], marks: Fingerprints) -> dict[Path, Path]:
        """Where each print goes; a name that holds a print of another frame is left to that."""
        check_parts(self.form.name_parts)
        names = distinct({frame: self._stem(frame) for frame in frames}, marks.mark)
        targets = {frame: self.out / f"{name}{self.suffix}" for frame, name in names.items()}
        for frame, target in targets.items():
            found = self.found.get(target)
            if found and marks.full(frame) not in {None, found.making.fingerprint}:
                targets[frame] = target.with_name(f"{names[frame]}-{marks.mark(frame)}{self.suffix}")
        return targets

    def _stem(self, frame: Path) -> str:
        values: Mapping[str, str | None] = {
            "frame": frame.stem,
            "recipe": self.look.name,
            "version": self.look.ref.partition("@")[2] if self.look.ref else None,
            "purpose": self.form.purpose,
            "size": str(self.form.long_edge) if self.form.long_edge and not self.form.purpose else None,
            "date": _date(frame) if "date" in self.form.name_parts else None,
        }
        return print_stem(self.form.name_parts, values)

    def _exact(self, targets: Mapping[Path, Path], marks: Fingerprints) -> dict[Path, _Found]:
        """For each frame the whole print that is just what was asked for; each print counts for one frame.

        First those under the expected name, then those that were renamed.
        """
        exact: dict[Path, _Found] = {}
        by_key: dict[str, list[_Found]] = {}
        for found in self.found.values():
            by_key.setdefault(found.making.key(), []).append(found)
        for only_expected in (True, False):
            for frame, target in targets.items():
                if frame in exact:
                    continue
                for found in by_key.get(self._key(frame, marks), []):
                    fits = found.path == target or not only_expected
                    if fits and found.path not in self.claimed and _intact(found.path):
                        exact[frame] = found
                        self.claimed.add(found.path)
                        break
        return exact

    def _key(self, frame: Path, marks: Fingerprints) -> str:
        if not self.found or (fingerprint := marks.full(frame)) is None:
            return ""
        return making_of(fingerprint, self.look, self.recipe, self.form).key()

    def _earlier(self, frame: Path, marks: Fingerprints) -> list[_Found]:
        """Prints of the frame by other versions of the recipe."""
        return [
            found
            for found in self.found.values()
            if found.making.recipe == self.look.name
            and found.making.ref != self.look.ref
            and found.making.fingerprint == marks.full(frame)
        ]

    def _may_replace(self, frame: Path, target: Path, marks: Fingerprints) -> bool:
        """Whether a file stands at the target that may go; False if nothing stands there.

        Raises
        ------
        PrintError
            What stands there must stay.
        """
        if not os.path.lexists(target):
            return False
        found = self.found.get(target)
        if found is None or found.making.fingerprint != marks.full(frame):
            raise PrintError(
                "print-exists",
                f"{target}: a file that driftline did not write stands there and was left alone",
                hint="another output folder, or move that file away",
            )
        if not _intact(target):
            raise PrintError(
                "print-altered",
                f"{target}: our print, but changed by another program since; it was left alone",
                hint="move that file away, or choose another output folder",
            )
        if not self.refresh:
            wanted = making_of(found.making.fingerprint, self.look, self.recipe, self.form)
            raise PrintError(
                "print-exists",
                f"{target}: printed before with {_difference(found.making, wanted)}",
                hint="--refresh prints it again in its place; another output folder keeps both",
            )
        return True


def _frames_at(path: Path) -> list[Path]:
    """A file itself; of a folder its raw files, and what has such a name but is no file."""
    if not path.is_dir():
        return [path]
    found = list_frames([path])
    odd = [p for p in path.rglob("[!.]*") if _named_as_raw(p) and not p.is_file() and not _holds(p, found)]
    itself = [path] if _named_as_raw(path) and not found else []
    return sorted([*found, *odd]) or itself


def _named_as_raw(path: Path) -> bool:
    return path.suffix.lower() in RAW_SUFFIXES and not path.name.startswith(".")


def _holds(folder: Path, frames: Iterable[Path]) -> bool:
    return any(folder in frame.parents for frame in frames)


def _prints_in(out: Path) -> dict[Path, _Found]:
    paths = sorted(
        path for path in out.iterdir() if path.suffix.lower() in SUFFIXES.values() and path.is_file()
    )
    with ThreadPoolExecutor() as threads:
        told = threads.map(glance, paths)
        return {path: _Found(path, one) for path, one in zip(paths, told, strict=True) if one is not None}


def _intact(path: Path) -> bool:
    try:
        return read_provenance(path).intact
    except PrintError:
        return False


def _date(frame: Path) -> str | None:
    try:
        taken = RawFrame(frame).exposure().taken
    except DriftlineError:
        return None
    return f"{taken:%Y%m%d}" if taken else None


def _kept(frame: Path, found: _Found) -> Kept:
    return Kept(
        frame=str(frame), path=str(found.path), ref=found.making.ref, fingerprint=found.making.fingerprint
    )


def _difference(there: Making, wanted: Making) -> str:
    """The fields in which two makings differ, in words."""
    before, now = there.model_dump(), wanted.model_dump()
    told = [
        f"{name.replace('_', ' ')} {before[name]} (now {now[name]})"
        for name in now
        if before[name] != now[name]
    ]
    return ", ".join(told) or "the same settings"
