"""The edit of one recipe: its values, undo and redo, and its agreement with the file on the disk.

Every edit is written to the recipe's working file, where a text editor would write it: comments stay, a
reload, a restart and every other command see it, and nothing has to be rescued; what can be undone is noted
beside it. What somebody else writes there (a text editor, another program) is taken in; where both changed
the same parameter nothing is overwritten: what stands on the disk stays, and the clash is shown.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from threading import RLock
from typing import Any

from driftline.errors import DriftlineError, LedgerError, UsageError
from driftline.pages.bench.draft import Draft, OutsideFile
from driftline.pages.bench.steps import Steps, Values
from driftline.recipe import (
    Recipe,
    differences,
    from_parameters,
    in_words,
    parameters,
    parse_recipe,
    recipe_text,
)

FILE = "the file"


@dataclass(frozen=True)
class Clash:
    """A parameter that somebody else changed since this window saw it; ``stands`` is what it is now."""

    path: str
    asked: Any
    stands: Any
    whose: str

    def json(self) -> dict[str, Any]:
        """As one JSON object."""
        return {"path": self.path, "asked": self.asked, "stands": self.stands, "whose": self.whose}


@dataclass
class _Mark:
    """When a parameter was changed last, and by which window (or the file)."""

    revision: int
    whose: str


class Edit:
    """One recipe under edit; safe to use from several threads.

    Parameters
    ----------
    draft
        The file that is edited.

    Raises
    ------
    LedgerError, RecipeError
        There is no such recipe, or its file cannot be read.
    """

    def __init__(self, draft: Draft) -> None:
        self.name = draft.name
        self.revision = 0
        self.problem: DriftlineError | None = None
        self._draft = draft
        self._lock = RLock()
        self._marks: dict[str, _Mark] = {}
        self._kind: tuple[str, str] | None = None
        self._base = self._draft.text()
        self._seen: bytes | None = self._draft.content()
        self._about = self._read(self._base)
        self.values: Values = parameters(self._about)
        self._steps = Steps.recalled(self._draft.note(), self.values)
        self._base = self._base_of(self._base, self._steps.base)

    @property
    def recipe(self) -> Recipe:
        """The recipe as it stands."""
        return from_parameters(self.values, name=self._about.name, about=self._about.about)

    @property
    def content(self) -> bytes | None:
        """What the working file held when it was looked at last."""
        return self._seen

    @property
    def outside(self) -> OutsideFile | None:
        """The file, if it lies outside the ledger."""
        return self._draft if isinstance(self._draft, OutsideFile) else None

    @property
    def text(self) -> str:
        """Its text: what was read last, rewritten where the values differ and nowhere else."""
        return recipe_text(self.recipe, base=self._base)

    def look(self) -> None:
        """Take in what somebody else wrote into the file; what cannot be read is kept as the problem."""
        with self._lock:
            try:
                found = self._draft.content()
                if found != self._seen or self.problem:
                    self._take_in(found)
            except DriftlineError as error:
                self.problem = error

    def change(
        self, changes: Mapping[str, Any], *, seen: int, window: str, gesture: str = ""
    ) -> tuple[Clash, ...]:
        """Change parameters, and write the file.

        Parameters
        ----------
        changes
            New values by field path; None takes a band out or a switch off.
        seen
            The revision that the window showed.
        window
            Which window asks.
        gesture
            Steps of one gesture are undone together.

        Returns
        -------
        tuple
            The parameters that somebody else changed since; they are left as they stand.

        Raises
        ------
        RecipeError
            A value is out of range; nothing was changed.
        LedgerError
            The file cannot be written, or not read: it is never overwritten then.
        """
        with self._lock:
            self.look()
            self._refuse_on_problem()
            clashes = tuple(self._clashes(changes, seen, window))
            lost = {clash.path for clash in clashes}
            free = {path: _frozen(value) for path, value in changes.items() if path not in lost}
            before = self.values
            if self._put(_with(before, free), window):
                self._steps.keep(before, gesture)
                self._note()
            return clashes

    def undo(self, window: str) -> None:
        """Go back one step, if there is one."""
        self._turn(window, self._steps.past, self._steps.future)

    def redo(self, window: str) -> None:
        """Go on one step that was undone, if there is one."""
        self._turn(window, self._steps.future, self._steps.past)

    def write_over(self, window: str) -> None:
        """Put what stood on the page over a file that cannot be read: only when somebody asks for it."""
        with self._lock:
            content = self.text.encode()
            self._draft.write(content, seen=self._draft.content())
            self._seen, self.problem = content, None
            self._marked(self.values, window)
            self._note()

    def saved(self) -> None:
        """Begin again from the file as a save left it; what can be undone stays."""
        with self._lock:
            self.look()
            self._kind = None
            self.revision += 1

    def softened(self, identity: str, ref: str) -> None:
        """Note that these parameters are a tempered version of another one."""
        self._kind = (identity, ref)

    def softened_from(self, identity: str) -> str:
        """The version that parameters were tempered from; empty if they were not."""
        return self._kind[1] if self._kind and self._kind[0] == identity else ""

    def json(self) -> dict[str, Any]:
        """What a window needs to show it."""
        with self._lock:
            return {
                "recipe": self.name,
                "about": self._about.about,
                "revision": self.revision,
                "values": self.values,
                "undo": len(self._steps.past),
                "redo": len(self._steps.future),
                "problem": _told(self.problem),
            }

    def _read(self, text: str) -> Recipe:
        return parse_recipe(text, source=self._draft.where)

    def _take_in(self, found: bytes | None) -> None:
        if found is None:
            raise LedgerError(
                "no-such-recipe-file",
                f"{self._draft.where}: the file is gone",
                hint="write it again from this page, or put it back",
            )
        recipe = self._read(self._draft.text())
        self._base, self._seen, self._about, self.problem = found.decode(), found, recipe, None
        values = parameters(recipe)
        if values != self.values:
            self._steps.keep(self.values)
            self._marked(values, FILE)
            self._note()

    def _clashes(self, changes: Mapping[str, Any], seen: int, window: str) -> list[Clash]:
        found = []
        for path, asked in changes.items():
            mark, stands = self._marks.get(path), self.values.get(path)
            if mark and mark.revision > seen and mark.whose != window and stands != _frozen(asked):
                whose = FILE if mark.whose == FILE else "another window"
                found.append(Clash(path, asked, stands, whose))
        return found

    def _put(self, values: Values, window: str) -> bool:
        """Check values, write them, and only then show them; False if nothing changed."""
        recipe = from_parameters(values, name=self._about.name, about=self._about.about)
        values = parameters(recipe)
        if values == self.values:
            return False
        content = recipe_text(recipe, base=self._base).encode()
        self._draft.write(content, seen=self._seen)
        self._seen = content
        self._marked(values, window)
        return True

    def _turn(self, window: str, source: list[Values], target: list[Values]) -> None:
        with self._lock:
            self.look()
            self._refuse_on_problem()
            if source:
                before = self.values
                self._put(source[-1], window)
                source.pop()
                target.append(before)
                self._steps.end_gesture()
                self._note()

    def _marked(self, values: Values, whose: str) -> None:
        self.revision += 1
        for path in self.values.keys() | values.keys():
            if self.values.get(path) != values.get(path):
                self._marks[path] = _Mark(self.revision, whose)
        self.values = values

    def _base_of(self, text: str, noted: str) -> str:
        """The text to rewrite: the one of before the restart, if what is in the file was made of it."""
        try:
            made = noted and recipe_text(self._about, base=noted) == text
        except DriftlineError:
            made = False
        return noted if made else text

    def _note(self) -> None:
        self._steps.base = self._base
        self._draft.keep_note(self._steps.noted(self.values))

    def _refuse_on_problem(self) -> None:
        if self.problem:
            raise UsageError(
                "bench-file-unreadable", self.problem.message, hint=self.problem.hint or "put the file right"
            )


def words_between(a: Recipe, b: Recipe) -> list[str]:
    """What changed from one recipe to another, in words."""
    return in_words(differences(a, b))


def _with(values: Values, changes: Mapping[str, Any]) -> Values:
    changed = {**values, **changes}
    return {
        path: value
        for path, value in changed.items()
        if not path.startswith("chroma.band.") or changed.get(_hue_of(path)) is not None
    }


def _hue_of(path: str) -> str:
    return f"{path.rpartition('.')[0]}.hue"


def _frozen(value: Any) -> Any:
    if isinstance(value, list):
        return tuple(value)
    return float(value) if isinstance(value, int) and not isinstance(value, bool) else value


def _told(problem: DriftlineError | None) -> dict[str, str] | None:
    return {"message": problem.message, "hint": problem.hint} if problem else None
