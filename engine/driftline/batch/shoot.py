"""A shoot as it stands: what came in, what is printed, what was set aside, and what is still to do."""

from __future__ import annotations

import os
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import Any, Final

from driftline.batch.hints import hints, light_value
from driftline.batch.index import open_index
from driftline.batch.recorded import SET_ASIDE, Recorded, ask, marks, recorded
from driftline.batch.scan import Seen, at_once, keep, recall_sights, scan, uncollected
from driftline.frames import ExposureData, find_frames
from driftline.ledger import Ledger
from driftline.ledger.settings import Practice

UNDEVELOPED, PRINTED, UNREADABLE = "undeveloped", "printed", "unreadable"
_UNITS: Final = ((365, "year"), (30, "month"), (1, "day"))


class FrameState:
    """One frame of a shoot.

    Attributes
    ----------
    state
        ``undeveloped``, ``printed`` or ``set-aside``.
    ref
        The version it was last printed with.
    now
        The last version of that recipe, if that is another one; None otherwise.
    problem
        Why it cannot be read, or nothing.
    """

    __slots__ = ("_practice", "_seen", "now", "problem", "ref", "state")

    def __init__(
        self, seen: Seen, practice: Practice, state: str, ref: str | None = None, now: str | None = None
    ) -> None:
        self._seen, self._practice, self.state, self.ref, self.now = seen, practice, state, ref, now
        self.problem = seen.problem

    @property
    def path(self) -> Path:
        """Where it lies."""
        return self._seen.path

    @property
    def exposure(self) -> ExposureData:
        """How it was taken; nothing is known of a frame that cannot be read."""
        return self._seen.sight.exposure

    @property
    def rendering(self) -> str:
        """Where the camera rendering comes from, or why there is none, in words."""
        return self._seen.sight.rendering

    @property
    def has_rendering(self) -> bool:
        """Whether there is a camera rendering."""
        return self._seen.sight.has_rendering

    @property
    def pair(self) -> Path | None:
        """The camera's JPEG of the same exposure beside it."""
        name = self._seen.sight.paired
        return self.path.with_name(name) if name else None

    @property
    def unpaired(self) -> str:
        """Why a JPEG of its name beside it is not taken for the camera's, or nothing."""
        return self._seen.sight.unpaired

    @property
    def taken(self) -> str:
        """When it was taken, ISO 8601; '' if unknown."""
        return self._seen.row.taken or ""

    @property
    def hints(self) -> tuple[str, ...]:
        """Where the exposure lies outside common practice, as the settings have it."""
        return hints(self.exposure, self._practice)

    def json(self) -> dict[str, Any]:
        """As ``shoot --json`` gives it."""
        recipe, _, version = (self.ref or "").partition("@")
        seen, light = self.exposure, light_value(self.exposure)
        return {
            "path": str(self.path),
            "camera_rendering": self.rendering if self.has_rendering else None,
            "jpeg": str(self.pair) if self.pair else None,
            "not_the_cameras": self.unpaired or None,
            "state": self.state,
            "recipe": recipe or None,
            "version": version or None,
            "now": self.now,
            "taken": self.taken or None,
            "iso": seen.iso,
            "shutter_s": seen.shutter_s,
            "aperture": seen.aperture,
            "focal_mm": seen.focal_mm,
            "focal_35mm": seen.focal_35mm,
            "bias_ev": seen.bias_ev,
            "light_value": None if light is None else round(light, 1),
            "hints": list(self.hints),
            "problem": self.problem or None,
        }


class Shoot:
    """The frames of a shoot, in the order of their paths, and what is recorded of them."""

    def __init__(
        self,
        seen: Sequence[Seen],
        known: Recorded,
        ledger: Ledger | None,
        roots: Sequence[str | os.PathLike[str]],
    ) -> None:
        self._seen, self._known, self._ledger, self._roots = seen, known, ledger, roots

    @cached_property
    def frames(self) -> tuple[FrameState, ...]:
        """Each frame with its state."""
        practice = self._ledger.settings().practice if self._ledger else Practice()
        with uncollected():
            with open_index(self._ledger) as index:
                recall_sights(self._seen, self._roots, index)
            told = zip(self._seen, self._states, strict=True)
            return tuple(FrameState(each, practice, *state) for each, state in told)

    @cached_property
    def _states(self) -> list[tuple[str, str | None, str | None]]:
        """Of each frame: its state, the version it was last printed with, and the last one if another."""
        with uncollected():
            return [_state(each, self._known) for each in self._seen]

    @cached_property
    def counts(self) -> dict[str, int]:
        """How many frames are in each state; those that cannot be read are counted apart."""
        states = Counter(
            state for each, (state, _, _) in zip(self._seen, self._states, strict=True) if not each.problem
        )
        named = {state: states[state] for state in (UNDEVELOPED, PRINTED, SET_ASIDE)}
        return {**named, UNREADABLE: len(self._seen) - sum(named.values())}

    @cached_property
    def folders(self) -> dict[Path, dict[str, int]]:
        """The same of each folder by itself, in the order of its first frame."""
        found: defaultdict[str, Counter[str]] = defaultdict(Counter)
        for each, (state, _, _) in zip(self._seen, self._states, strict=True):
            found[os.path.dirname(each.listed.path)][UNREADABLE if each.problem else state] += 1
        return {Path(folder): {key: states[key] for key in self.counts} for folder, states in found.items()}

    @property
    def problems(self) -> list[str]:
        """Why frames cannot be read, of each that cannot."""
        return [each.problem for each in self._seen if each.problem]

    def backlog(self, today: datetime) -> str:
        """How many frames wait, and for how long, in one line."""
        waiting = self.counts[UNDEVELOPED]
        if not waiting:
            return "nothing waits"
        oldest = min((taken for taken in self._taken_of_waiting() if taken), default="")
        days = (today.replace(tzinfo=None) - datetime.fromisoformat(oldest)).days if oldest else 0
        age = f", the oldest for {_time(days)}" if days > 0 else ""
        return f"{waiting} of {len(self._seen)} frames wait{age}"

    def _taken_of_waiting(self) -> Iterator[str | None]:
        for each, (state, _, _) in zip(self._seen, self._states, strict=True):
            if state == UNDEVELOPED and not each.problem:
                yield each.row.taken


def _time(days: int) -> str:
    """A number of days as one says it.

    Examples
    --------
    >>> _time(1), _time(59), _time(100), _time(800)
    ('1 day', '59 days', '3 months', '2 years')
    """
    many, unit = next((days // size, name) for size, name in _UNITS if days >= 2 * size or size == 1)
    return f"{many} {unit}{'' if many == 1 else 's'}"


def look_over(paths: Iterable[str | os.PathLike[str]], ledger: Ledger | None) -> Shoot:
    """What stands in a shoot.

    Only what is new or changed since it was last looked at is read, and of that the first bytes.

    Parameters
    ----------
    paths
        Frames, or folders of them.
    ledger
        Knows what was printed and set aside; None: nothing was.

    Raises
    ------
    FrameError
        A path that is not there. A frame that cannot be read is in the result, with its problem.
    """
    roots = list(paths)
    with uncollected(), _scanned(roots, ledger) as (seen, known):
        return Shoot(seen, known, ledger, roots)


def set_aside(paths: Iterable[str | os.PathLike[str]], ledger: Ledger, *, aside: bool = True) -> int:
    """Close a shoot, or part of it: its undeveloped frames are no longer part of the backlog.

    Parameters
    ----------
    paths, ledger
        As for :func:`look_over`.
    aside
        False takes back what was set aside: those frames wait again.

    Returns
    -------
    int
        How many frames were set aside, or taken back, by this. What cannot be read stays what it is.
    """
    with _scanned(list(paths), ledger) as (seen, known):
        before = UNDEVELOPED if aside else SET_ASIDE
        meant = [each for each in seen if _state(each, known)[0] == before and not each.problem]
        at_once(meant, Seen.quick)
        at_once(meant, Seen.full)
    closed = {each.row.full: each for each in meant if each.row.full}
    if closed:
        lines = ({"frame": full, **marks(each.path, each.row.quick)} for full, each in closed.items())
        ledger.record_set_aside(lines, aside=aside)
    return sum(each.row.full is not None for each in meant)


@contextmanager
def _scanned(
    roots: Sequence[str | os.PathLike[str]], ledger: Ledger | None
) -> Iterator[tuple[list[Seen], Recorded]]:
    """The frames and what is recorded of them; what is learned of them meanwhile is kept."""
    asked = ask(ledger)
    with open_index(ledger) as index:
        seen = scan(find_frames(roots), roots, index)
        known = recorded(ledger, asked, index)
        known.fingerprints(seen)
        yield seen, known
        keep(seen, index)


def _state(seen: Seen, known: Recorded) -> tuple[str, str | None, str | None]:
    """State, the version it was last printed with, and the last version of that recipe if it is another."""
    full = seen.row.full
    if full is None:
        return UNDEVELOPED, None, None
    ref = known.printed.get(full)
    if ref:
        last = known.last.get(ref.partition("@")[0], ref)
        return PRINTED, ref, last if last != ref else None
    return SET_ASIDE if full in known.aside else UNDEVELOPED, None, None
