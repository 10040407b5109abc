"""The steps of an edit that can be undone and redone, and how they outlive the program that took them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from itertools import pairwise
from typing import Any

from driftline.errors import DriftlineError
from driftline.recipe import from_parameters

Values = dict[str, Any]

FORM = 1
_DEEPEST = 500


class Steps:
    """What stood before each step, oldest first, and what was undone, the next to be redone last.

    ``base`` is the text that the steps were taken on: comments of a band that was taken out are still there.
    """

    def __init__(self) -> None:
        self.past: list[Values] = []
        self.future: list[Values] = []
        self.base = ""
        self._gesture = ""

    def keep(self, values: Values, gesture: str = "") -> None:
        """Remember what stood before a step; steps of one gesture are one."""
        if not gesture or gesture != self._gesture:
            self.past.append(values)
            del self.past[:-_DEEPEST]
        self.future.clear()
        self._gesture = gesture

    def end_gesture(self) -> None:
        """Whatever comes next is a step of its own."""
        self._gesture = ""

    def noted(self, stands: Values) -> bytes:
        """All of it as JSON, each state as what differs from the one beside it; ``stands`` is what is now."""
        states = [stands, *reversed(self.past)], [stands, *reversed(self.future)]
        back, on = ([_from(a, b) for a, b in pairwise(way)] for way in states)
        note = {"form": FORM, "base": self.base, "stands": stands, "back": back, "on": on}
        return json.dumps(note, separators=(",", ":")).encode()

    @classmethod
    def recalled(cls, note: bytes | None, stands: Values) -> Steps:
        """The steps that were noted; none if there is no note or it makes no sense.

        Where something else stands by now than when it was noted, somebody wrote it meanwhile: that is one
        step more, as it is while the bench runs.
        """
        steps = cls()
        try:
            base, then, back, on = _read(note or b"")
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError, DriftlineError):
            return steps
        steps.base, steps.past, steps.future = base, back[::-1], on[::-1]
        if then != stands:
            steps.keep(then)
        return steps


def _from(here: Values, there: Values) -> dict[str, Any]:
    """What to change here to come there; what is not there at all goes."""
    changed = {path: value for path, value in there.items() if path not in here or here[path] != value}
    return {"set": changed, "gone": [path for path in here if path not in there]}


def _read(note: bytes) -> tuple[str, Values, list[Values], list[Values]]:
    told = json.loads(note)
    if told["form"] != FORM:
        raise ValueError("of another form")
    stands = _checked(told["stands"])
    back, on = (_along(stands, told[way][:_DEEPEST]) for way in ("back", "on"))
    return str(told["base"]), stands, back, on


def _along(values: Values, ways: Iterable[Mapping[str, Any]]) -> list[Values]:
    found = []
    for way in ways:
        gone = set(way["gone"])
        values = _checked({path: each for path, each in {**values, **way["set"]}.items() if path not in gone})
        found.append(values)
    return found


def _checked(values: Values) -> Values:
    values = {path: tuple(each) if isinstance(each, list) else each for path, each in values.items()}
    from_parameters(values)
    return values
