"""What the recipes of a ledger's versions say, read once a commit: a commit never changes what it holds.

Noted for this copy in ``.git/driftline/parsed.json``, a version at a time only what is not neutral; thrown
away, damaged or of another time, it is made again.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from driftline.errors import DriftlineError
from driftline.pages.story import Value
from driftline.recipe import NEUTRAL, field_specs, parameters, parse_recipe

if TYPE_CHECKING:
    from driftline.ledger import Ledger
    from driftline.ledger import Version as Saved

FORM = 1
"""Raised when texts are read otherwise than before."""

_NOTE = "parsed.json"
_ONE_BY_ONE = 8


class Said(NamedTuple):
    """What a version's recipe says: what it is for, and every parameter by field path."""

    about: str
    values: dict[str, Value]


class ParsedTexts:
    """The texts of versions and what they say; a text that cannot be read says nothing."""

    def __init__(self, ledger: Ledger, saved: Sequence[Saved]) -> None:
        self._ledger = ledger
        self._saved = saved
        self._neutral = parameters(NEUTRAL)
        self._texts: dict[str, str] = {}
        self._asked = 0
        noted = self._noted()
        new = [one for one in saved if one.commit not in noted]
        self._said = {one.ref: noted[one.commit] for one in saved if one.commit in noted}
        if new:
            self._read(new)
            self._note({one.commit: self._said[one.ref] for one in saved if one.ref in self._said})

    def said(self, ref: str) -> Said | None:
        """What a version says; None if it cannot be read."""
        return self._said.get(ref)

    def text(self, ref: str) -> str:
        """A version's text; raises what says why it cannot be read."""
        if ref not in self._texts:
            self._asked += 1
            if self._asked == _ONE_BY_ONE:
                self._texts = self._ledger.texts(self._saved)
        return self._texts[ref] if ref in self._texts else self._ledger.text(ref)

    def _read(self, new: Sequence[Saved]) -> None:
        self._texts = self._ledger.texts(new)
        for ref, text in self._texts.items():
            try:
                recipe = parse_recipe(text, source=ref)
            except DriftlineError:
                continue
            self._said[ref] = Said(recipe.about or "", parameters(recipe))

    def _noted(self) -> dict[str, Said]:
        try:
            note = json.loads(self._ledger.own_note(_NOTE) or b"{}")
            told = note["by"] if note.get("made_of") == _made_of() else {}
            return {commit: self._whole(*one) for commit, one in told.items()}
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
            return {}

    def _note(self, said: dict[str, Said]) -> None:
        told = {commit: [one.about, self._own(one.values)] for commit, one in said.items()}
        note = json.dumps({"made_of": _made_of(), "by": told}, separators=(",", ":"))
        self._ledger.keep_own_note(_NOTE, note.encode())

    def _own(self, values: dict[str, Value]) -> dict[str, Value]:
        """What is not neutral; all of a band."""
        return {p: v for p, v in values.items() if p not in self._neutral or v != self._neutral[p]}

    def _whole(self, about: str, own: dict[str, Any]) -> Said:
        values = {path: tuple(value) if isinstance(value, list) else value for path, value in own.items()}
        if not all(isinstance(value, float | str | tuple | None) for value in values.values()):
            raise TypeError("not what a recipe says")
        return Said(str(about), {**self._neutral, **values})


def _made_of() -> str:
    """What the note depends on besides the texts: how they are read."""
    fields = [(path, spec.neutral, spec.low, spec.high) for path, spec in field_specs().items()]
    return hashlib.sha256(repr((FORM, fields)).encode()).hexdigest()
