"""Making a version: what changed, what it is called, and the commit that keeps it."""

from __future__ import annotations

import secrets
import socket
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from driftline.errors import RecipeError
from driftline.ledger.known import Known, Last, recipe_path
from driftline.ledger.message import compose, to_json
from driftline.ledger.names import Ref, suggested_name
from driftline.ledger.opened import put, refuse_unsaved_edit
from driftline.ledger.store import Outgoing, Store
from driftline.ledger.versions import Version

if TYPE_CHECKING:
    from driftline.ledger.settings import Settings
    from driftline.recipe import Change, Recipe

_LABEL_LETTERS = "23456789bcdfghjkmnpqrstvwxz"


@dataclass(frozen=True)
class Saved:
    """What a save did; with ``saved`` False, nothing, and the version is the one there was."""

    saved: bool
    recipe: str
    version: int
    ref: str
    commit: str
    kind: str
    changes: tuple[Change, ...]
    parents: tuple[str, ...]
    remarks: tuple[str, ...] = ()
    """What there is to say about it: what a blend could not mix."""

    def json(self) -> dict[str, Any]:
        """What ``save --json`` gives, but for the drift."""
        return {
            "saved": self.saved,
            "recipe": self.recipe,
            "version": self.version,
            "ref": self.ref,
            "commit": self.commit,
            "kind": self.kind,
            "changes": [change.json() for change in self.changes],
            "parents": list(self.parents),
            "remarks": list(self.remarks),
        }


@dataclass(frozen=True)
class Draft:
    """A version that is to be."""

    name: str
    content: bytes
    note: str
    kind: str
    parents: tuple[str, ...]
    drift: Mapping[str, Any] | None = None
    proofs: tuple[str, ...] = ()
    edition: str = ""
    from_working_file: bool = False
    remarks: tuple[str, ...] = ()


def decoded(content: bytes, source: str) -> str:
    """The text in a file of the ledger."""
    from driftline.recipe import decode  # noqa: PLC0415

    return decode(content, source=source)


def parsed(text: str, source: str) -> Recipe:
    """The recipe in a text."""
    from driftline.recipe import parse_recipe  # noqa: PLC0415

    return parse_recipe(text, source=source)


def renamed(content: bytes, name: str, source: str) -> bytes:
    """A recipe's text with another name in it; comments stay."""
    from driftline.recipe import recipe_text  # noqa: PLC0415

    text = decoded(content, source)
    recipe = parsed(text, source)
    return recipe_text(recipe.model_copy(update={"name": name}), base=text).encode()


def blended(
    first: tuple[bytes, str], second: tuple[bytes, str], weight: float, name: str
) -> tuple[bytes, tuple[str, ...]]:
    """The text between two texts (each with what to call it in errors), and what could not be mixed.

    It is the first one's text, rewritten: its comments stay.
    """
    from driftline.recipe import blend, recipe_text  # noqa: PLC0415

    texts = [decoded(*side) for side in (first, second)]
    recipes = [parsed(text, side[1]) for text, side in zip(texts, (first, second), strict=True)]
    mixed, remarks = blend(recipes[0], recipes[1], weight)
    named = mixed.model_copy(update={"name": name, "about": recipes[1 if weight > 0.5 else 0].about})
    return recipe_text(named, base=texts[0]).encode(), remarks


def save(store: Store, now: Known, draft: Draft, version: Callable[[str], Version]) -> Saved:
    """Save a draft as the next version of its recipe; to be called with the lock held."""
    path = recipe_path(draft.name)
    recipe = _checked(store, draft)
    last = now.last.get(draft.name)
    blob = store.blob_id(draft.content)
    if not draft.from_working_file:
        refuse_unsaved_edit(store, path, draft.content, last.blob if last else "")
    if last and last.blob == blob and draft.kind != "merge":
        return _as_it_was(store, last, draft.content, version)
    parents = draft.parents or ((str(last.ref),) if last else ())
    changes = _changes(store, recipe, last, parents, version)
    draft = replace(draft, parents=parents)
    if draft.kind == "version" and last and not changes:
        draft = replace(draft, kind="words")
    ref = Ref(draft.name, (last.highest if last else 0) + 1, copy_label(store, now))
    message = _message(ref, draft, recipe, changes)
    commit = put(store, now, {path: draft.content}, message, (blob, str(ref)))
    return Saved(True, ref.recipe, ref.number, str(ref), commit, draft.kind, changes, parents, draft.remarks)


def message_of(store: Store, now: Known, draft: Draft, ref: Ref, version: Callable[[str], Version]) -> str:
    """The message of the commit that saves a draft under a given name."""
    recipe = _checked(store, draft)
    changes = _changes(store, recipe, now.last.get(draft.name), draft.parents, version)
    return _message(ref, draft, recipe, changes)


def _as_it_was(store: Store, last: Last, content: bytes, version: Callable[[str], Version]) -> Saved:
    """Nothing to save; the working file is written out again if it was missing or had stayed behind."""
    store.write_out([Outgoing(recipe_path(last.ref.recipe), content, last.blob, last.blob)])
    there = version(str(last.ref))
    return Saved(False, there.recipe, there.version, there.ref, there.commit, there.kind, (), there.parents)


def _checked(store: Store, draft: Draft) -> Recipe:
    source = str(store.root / recipe_path(draft.name))
    recipe = parsed(decoded(draft.content, source), source)
    if recipe.name is not None and recipe.name != draft.name:
        raise RecipeError(
            "recipe-name-mismatch",
            f'{source}, name: "{recipe.name}"; in a ledger it is the file\'s, "{draft.name}", or left out',
            hint=f'name = "{draft.name}"; or driftline fork {draft.name} {suggested_name(recipe.name)}'
            " for a recipe of its own",
        )
    return recipe


def _changes(
    store: Store,
    recipe: Recipe,
    last: Last | None,
    parents: tuple[str, ...],
    version: Callable[[str], Version],
) -> tuple[Change, ...]:
    """What changed against the version before; of a first version, against its parent, or neutral."""
    from driftline.recipe import NEUTRAL, differences  # noqa: PLC0415

    if last is not None:
        before = (last.commit, recipe_path(last.ref.recipe))
    elif parents:
        parent = version(parents[0])
        before = (parent.commit, recipe_path(parent.recipe))
    else:
        return differences(NEUTRAL, recipe)
    content = store.content(*before)
    source = f"{before[1]} in {before[0][:12]}"
    return differences(parsed(decoded(content or b"", source), source), recipe)


def _message(ref: Ref, draft: Draft, recipe: Recipe, changes: tuple[Change, ...]) -> str:
    from driftline.recipe import identity, in_words  # noqa: PLC0415

    title = str(ref)
    if draft.kind not in ("version", "words"):
        title += f", {draft.kind} of {' and '.join(draft.parents)}" if draft.parents else f", {draft.kind}"
    words = in_words(changes) if changes else []
    if draft.kind == "words":
        title += ": words only, the look is the same"
    trailers = [
        ("Recipe", ref.recipe),
        ("Version", str(ref)),
        ("Kind", draft.kind),
        *(("Derived-from", parent) for parent in draft.parents),
        ("Look", identity(recipe)),
        ("Changes", to_json([change.json() for change in changes] or None)),
        ("Edition", draft.edition),
        ("Proofs", " ".join(draft.proofs)),
        ("Drift", to_json(draft.drift)),
    ]
    return compose(title, words, draft.note, trailers)


def copy_label(store: Store, now: Known) -> str:
    """The label of this copy; a copy that has none yet gets one, and keeps it.

    The copy that ran ``init`` has an empty one. Another copy's is its host's name and three letters by
    chance: two copies on one machine, or on two machines of one name, must never give out the same names.
    """
    configured = store.configuration().copy
    if configured is not None:
        return configured
    host = suggested_name(socket.gethostname().partition(".")[0])[:20].strip("-")
    while (label := f"{host}-{''.join(secrets.choice(_LABEL_LETTERS) for _ in range(3))}") in now.labels:
        pass
    store.set_copy_label(label)
    return label


def read_settings(store: Store) -> Settings:
    """The settings as they stand in the working file."""
    from driftline.ledger.settings import PATH, parse_settings  # noqa: PLC0415  (pydantic: 60 ms)

    source = str(store.root / PATH)
    return parse_settings(decoded(store.files.read(PATH) or b"", source), source=source)


def save_settings(store: Store, now: Known, text: str | None, note: str) -> bool:
    """Keep the settings; to be called with the lock held."""
    from driftline.ledger.settings import PATH, parse_settings  # noqa: PLC0415

    before = store.content(now.head, PATH)
    content = text.encode() if text is not None else store.files.read(PATH)
    if content is None or content == before:
        return False
    source = str(store.root / PATH)
    parse_settings(decoded(content, source), source=source)
    if text is not None:
        refuse_unsaved_edit(store, PATH, content, store.blob_id(before) if before is not None else "")
    message = compose("settings changed", [], note, [("Kind", "settings")])
    put(store, now, {PATH: content}, message)
    return True
