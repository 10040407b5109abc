"""Two copies of a ledger brought together: what each changed, and what only the photographer can decide."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Literal, TypeAlias

from driftline.errors import LedgerError
from driftline.ledger import saving
from driftline.ledger.commits import read_objects
from driftline.ledger.refresh import Moved, moved_between
from driftline.ledger.store import Store

if TYPE_CHECKING:
    from driftline.recipe import Recipe

Side: TypeAlias = Literal["here", "there"]


@dataclass(frozen=True)
class OpenChoice:
    """Something that both copies changed, each in its own way.

    ``recipe`` is empty for other files, whose path is then in ``field``. ``key`` names the choice when it is
    settled: ``tram-fog.curve.slope``, ``settings.toml``.
    """

    recipe: str
    field: str
    here: Any
    there: Any
    unit: str = ""

    @property
    def key(self) -> str:
        """What the choice is called when it is settled."""
        return f"{self.recipe}.{self.field}" if self.recipe else self.field

    def json(self) -> dict[str, Any]:
        """The choice as ``reconcile --json`` gives it."""
        return {
            "key": self.key,
            "recipe": self.recipe,
            "field": self.field,
            "here": self.here,
            "there": self.there,
            "unit": self.unit,
        }


@dataclass
class Meeting:
    """What becomes of every file when two sides meet."""

    taken: dict[str, bytes | None] = field(default_factory=dict)
    """Files that are not a recipe changed on both sides, as they will be."""
    recipes: dict[str, bytes] = field(default_factory=dict)
    """Recipes changed on both sides, by name, as they will be."""
    choices: list[OpenChoice] = field(default_factory=list)


def meet(store: Store, base: str, here: str, there: str, settled: Mapping[str, Side]) -> Meeting:
    """Work out the meeting of two commits that grew from `base`; nothing is written.

    Parameters
    ----------
    settled
        What was decided, by the key of the choice; ``*`` decides all that are left.

    Raises
    ------
    LedgerError
        ``ledger-link`` when the other side holds a symbolic link or the like.
    """
    mine = {change.path: change for change in moved_between(store, base, here)}
    theirs = {change.path: change for change in moved_between(store, base, there, strict=True)}
    meeting = Meeting()
    for path, change in theirs.items():
        if path not in mine:
            meeting.taken[path] = _content(store, change.after)
        elif mine[path].after != change.after:
            _both(store, meeting, mine[path], change, settled)
    return meeting


def _both(store: Store, meeting: Meeting, mine: Moved, theirs: Moved, settled: Mapping[str, Side]) -> None:
    path = mine.path
    base, here, there = (_content(store, blob) for blob in (mine.before, mine.after, theirs.after))
    folder, _, file = path.rpartition("/")
    if here is None or there is None:  # taken out on one side, changed on the other: what is there stays
        meeting.taken[path] = there if here is None else here
    elif folder == "recipes" and file.endswith(".toml"):
        name = file.removesuffix(".toml")
        meeting.recipes[name] = _recipes_together(meeting, name, (base or b"", here, there), settled)
    elif folder.startswith("prints/"):
        lines = here.splitlines(keepends=True)
        meeting.taken[path] = b"".join(dict.fromkeys([*lines, *there.splitlines(keepends=True)]))
    elif folder.startswith("proofs/") and folder != "proofs/of":
        meeting.taken[path] = here
    else:
        meeting.taken[path] = _texts_together(store, meeting, path, (base or b"", here, there), settled)


def _recipes_together(
    meeting: Meeting, name: str, texts: tuple[bytes, bytes, bytes], settled: Mapping[str, Side]
) -> bytes:
    """By parameter; comments and words stay as they are here, unless only the other side changed them."""
    from driftline.recipe import merge, recipe_text  # noqa: PLC0415

    base, here, there = (
        _recipe(text, f"{name} {side}") for text, side in zip(texts, ("before", "here", "there"), strict=True)
    )
    chosen: dict[str, Side] = {
        choice.field: decided
        for choice in merge(base, here, there)[1]
        if (decided := settled.get(f"{name}.{choice.field}", settled.get("*"))) is not None
    }
    merged, choices = merge(base, here, there, choose=chosen)
    meeting.choices += [
        OpenChoice(name, c.field, c.json()["here"], c.json()["there"], c.unit) for c in choices
    ]
    about = there.about if here.about == base.about else here.about
    text = saving.decoded(texts[1], name)
    return recipe_text(merged.model_copy(update={"name": here.name, "about": about}), base=text).encode()


def _recipe(content: bytes, source: str) -> Recipe:
    return saving.parsed(saving.decoded(content, source), source)


def _texts_together(
    store: Store, meeting: Meeting, path: str, texts: tuple[bytes, bytes, bytes], settled: Mapping[str, Side]
) -> bytes:
    """Line by line; where lines clash, one side's file as a whole."""
    base, here, there = texts
    together = store.merged_lines(base, here, there)
    if together is not None:
        return together
    decided = settled.get(path, settled.get("*"))
    if decided is None:
        shown = [text.decode("utf-8", "replace") for text in (here, there)]
        meeting.choices.append(OpenChoice("", path, *shown))
    return there if decided == "there" else here


def _content(store: Store, blob: str) -> bytes | None:
    if not blob:
        return None
    (found,) = read_objects(store.git, [blob])
    if found is None:
        raise LedgerError("ledger-broken", f"object {blob[:12]} is missing", hint="git fsck in both copies")
    return found.content
