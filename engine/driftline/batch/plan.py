"""Which prints a run has to make, by content: what is there already, what must stay, what is left to do.

Nothing is decided by dates or by the mere presence of a name.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from driftline.batch.asked import correction_of, likeness_among, making_of, recipe_of
from driftline.batch.fingerprints import Fingerprints
from driftline.batch.location import location_of
from driftline.batch.names import check_parts, distinct, print_stem
from driftline.batch.order import Failed, Form, Job, Kept, Look
from driftline.batch.standing import SUFFIXES, Found, Said, Standing
from driftline.errors import DriftlineError, UsageError
from driftline.frames import RAW_SUFFIXES, list_frames, sight
from driftline.frames.refusal import check_file
from driftline.prints import Credit, Making
from driftline.recipe import Likeness, correction_text

Corrections = Callable[[str], str | None]
"""The text of a frame's correction, by the frame's fingerprint."""


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
    corrections: Corrections | None = None,
    likenesses: Mapping[str, str] | None = None,
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
        Print anew what was printed with another version, in another form or with another credit.
    pinned
        The version was asked for by its number; otherwise a print by an older version is left at that.
    corrections
        Of single frames. A print made before its frame's correction changed is made again in its place.
    likenesses
        Texts by name: how cameras render. A print made with another one is made again, too.
    """
    check_parts(form.name_parts)
    planning = _Planning(frames, look, form, out, corrections, likenesses or {})
    planning.refresh, planning.pinned = refresh, pinned
    return planning.plan()


class _Planning:
    def __init__(
        self,
        frames: Sequence[Path],
        look: Look,
        form: Form,
        out: Path,
        corrections: Corrections | None,
        likenesses: Mapping[str, str],
    ) -> None:
        self.frames, self.look, self.form, self.out = frames, look, form, out
        self.corrections, self.likenesses = corrections, likenesses
        self.refresh = self.pinned = False
        self.recipe, self.suffix = recipe_of(look), SUFFIXES[form.encoding]
        self.standing, self.marks = Standing(out), Fingerprints(frames)
        known = self.standing.quick_fingerprints()
        self.marks.compute(frame for frame in frames if corrections or self.marks.quick(frame) in known)
        self.result = Plan()

    def plan(self) -> Plan:
        targets = self._targets()
        wanted = {frame: made for frame in self.frames if (made := self._wanted(frame))}
        there = self._there(targets, wanted)
        failed = {one.frame for one in self.result.failed}
        for frame in self.frames:
            if frame in there:
                self.result.there.append(_kept(frame, there[frame]))
            elif str(frame) not in failed:
                self._decide(frame, targets[frame], wanted.get(frame))
        return self.result

    def _wanted(self, frame: Path) -> Making | None:
        """What the print of a frame would be; None as long as its fingerprint is not needed, or unknown."""
        fingerprint = self.marks.known(frame)
        if fingerprint is None:
            return None
        try:
            text = self.corrections(fingerprint) if self.corrections else None
            correction = correction_text(correction_of(text, frame)) or None
            likeness = self._likeness(frame)
        except DriftlineError as error:
            self._fail(frame, error)
            return None
        return making_of(
            fingerprint, self.look, self.recipe, self.form, correction=correction, likeness=likeness
        )

    def _likeness(self, frame: Path) -> Likeness | None:
        if not self.likenesses:
            return None
        from driftline.pipeline import open_frame  # noqa: PLC0415 (loads the kernels)

        return likeness_among(self.likenesses, open_frame(frame))

    def _there(self, targets: Mapping[Path, Path], wanted: Mapping[Path, Making]) -> dict[Path, Found]:
        """For each frame the print that is just what was asked for: under its own name, then under any."""
        there: dict[Path, Found] = {}
        said = {frame: self._said(frame) for frame in wanted}
        for expected in (True, False):
            for frame in [frame for frame in wanted if frame not in there]:
                at = targets[frame] if expected else None
                found = self.standing.claim(wanted[frame], said[frame], at=at, refresh=self.refresh)
                if found:
                    there[frame] = found
        return there

    def _said(self, frame: Path) -> Said:
        """What the print of a frame would say beside what made it."""
        form = self.form
        located = form.keep_location and location_of(frame) is not None
        return Said(Credit(form.creator, form.rights, form.caption), located, form.recipe_in_print)

    def _decide(self, frame: Path, target: Path, wanted: Making | None) -> None:
        """A frame that has no print like the one asked for."""
        older = self._older(wanted) if wanted and not (self.refresh or self.pinned) else None
        if older:
            self.result.older.append(_kept(frame, older))
            return
        try:
            check_file(frame)  # here, so that no worker ever opens what is no file, a pipe for instance
            replace = self.standing.may_replace(target, wanted, self._said(frame), refresh=self.refresh)
        except DriftlineError as error:
            self._fail(frame, error)
            return
        correction = wanted.correction if wanted else None
        self.result.jobs.append(
            Job(
                frame=frame,
                target=target,
                look=self.look,
                form=self.form,
                correction=correction,
                likenesses=dict(self.likenesses),
                replace=replace,
            )
        )

    def _older(self, wanted: Making) -> Found | None:
        """A print of the frame by another version of the recipe, for the same use, and none by this one."""
        alike = [
            found
            for found in self.standing.of_frame(wanted.fingerprint)
            if found.making.recipe == wanted.recipe and _use(found.making) == _use(wanted)
        ]
        if any(found.making.ref == wanted.ref for found in alike):
            return None
        return alike[-1] if alike else None

    def _fail(self, frame: Path, error: DriftlineError) -> None:
        failed = Failed(frame=str(frame), code=error.code, reason=error.message, hint=error.hint)
        self.result.failed.append(failed)

    def _targets(self) -> dict[Path, Path]:
        """Where each print goes; a name that holds another print is left to that if a longer one helps."""
        names = distinct({frame: self._stem(frame) for frame in self.frames}, self.marks.mark)
        targets = {frame: self.out / f"{name}{self.suffix}" for frame, name in names.items()}
        for frame, target in targets.items():
            found = self.standing.at(target)
            more = self._more(frame, found) if found else ""
            if more:
                targets[frame] = target.with_name(f"{names[frame]}-{more}{self.suffix}")
        return targets

    def _more(self, frame: Path, found: Found) -> str:
        """What tells a print from the one that has its name: the frame's mark, or parts left out of names."""
        there = found.making
        if self.marks.full(frame) not in {None, there.fingerprint}:
            return self.marks.mark(frame)
        if self.refresh:
            return ""
        form, values = self.form, self._parts(frame)
        other_use = _use(there) != _use(form)
        differing = {
            "recipe": there.recipe != self.look.name,
            "version": there.ref != self.look.ref,
            "purpose": other_use,
            "size": other_use,
        }
        parts = [part for part in differing if differing[part] and part not in form.name_parts]
        return print_stem(parts, values) if any(values.get(part) for part in parts) else ""

    def _stem(self, frame: Path) -> str:
        return print_stem(self.form.name_parts, self._parts(frame))

    def _parts(self, frame: Path) -> Mapping[str, str | None]:
        """What each part of a name is for this frame."""
        return {
            "frame": frame.stem,
            "recipe": self.look.name,
            "version": self.look.ref.partition("@")[2] if self.look.ref else None,
            "purpose": self.form.purpose,
            "size": str(self.form.long_edge) if self.form.long_edge and not self.form.purpose else None,
            "date": _date(frame) if "date" in self.form.name_parts else None,
        }


def _use(made: Making | Form) -> tuple[object, ...]:
    """What tells prints for one use from those for another; better or worse JPEGs are for the same."""
    return made.long_edge, made.space, made.acutance, made.encoding, made.ceiling_bytes


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


def _date(frame: Path) -> str | None:
    taken = sight(frame).exposure.taken
    return f"{taken:%Y%m%d}" if taken else None


def _kept(frame: Path, found: Found) -> Kept:
    return Kept(
        frame=str(frame),
        path=str(found.path),
        ref=found.making.ref,
        fingerprint=found.making.fingerprint,
        quick=found.told.quick,
        key=found.making.key(),
    )
