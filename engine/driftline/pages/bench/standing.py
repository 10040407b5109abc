"""What the ledger says of the recipe under edit: asked of git seldom, since a page asks all the time."""

from __future__ import annotations

from time import monotonic
from typing import Any, NamedTuple

from driftline.drift import Past, past_of
from driftline.ledger import Ledger
from driftline.recipe import Recipe

_FRESH_S = 2.0


class Standing(NamedTuple):
    """The recipe's last version, what it holds, how many proofs judge it, and which recipes there are."""

    name: str
    last: str | None
    saved: Recipe | None
    content: bytes
    judged_by: int
    recipes: tuple[str, ...]


class LedgerStanding:
    """Keeps the standing for two seconds, so that a save by another program is seen soon enough."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._found: Standing | None = None
        self._when = 0.0
        self._past: tuple[str, str | None, Past] | None = None

    def now(self, name: str) -> Standing:
        """The standing of a recipe."""
        if self._found is None or self._found.name != name or monotonic() - self._when > _FRESH_S:
            self._found = self._look(name)
            self._when = monotonic()
        return self._found

    def past(self, name: str) -> Past:
        """The photographer's own versions so far, of all recipes and of this one; asked anew after a save."""
        last = self._found.last if self._found and self._found.name == name else None
        if self._past is None or self._past[:2] != (name, last):
            self._past = name, last, past_of(self._ledger, name)
        return self._past[2]

    def forget(self) -> None:
        """Look again the next time: something was saved."""
        self._found = None

    def _look(self, name: str) -> Standing:
        ledger, before = self._ledger, self._found
        recipes = tuple(ledger.recipes())
        last = ledger.version(name).ref if name in recipes else None
        judged_by = len(ledger.proofs(name)) if last else 0
        if before and before.name == name and before.last == last:
            return before._replace(recipes=recipes, judged_by=judged_by)
        text = ledger.text(last) if last else ""
        saved = ledger.read(last) if last else None
        return Standing(name, last, saved, text.encode(), judged_by, recipes)


def standing_json(standing: Standing, *, content: bytes | None) -> dict[str, Any]:
    """What a window needs of it; ``content`` is what the working file holds."""
    return {
        "last": standing.last,
        "unsaved": standing.last is None or content != standing.content,
        "judged_by": standing.judged_by,
        "recipes": list(standing.recipes),
    }
