"""What can be done with the recipe on the bench: save, fork, restore, temper, compare."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from driftline.drift import Bands, between, fork_measured, restore_measured, save_measured, temper
from driftline.drift.saving import SavedMeasured
from driftline.errors import DriftlineError, FrameError, LedgerError
from driftline.ledger import check_name
from driftline.pages.bench.desk import Desk
from driftline.pages.bench.edit import words_between
from driftline.pages.story import Amount, Reading
from driftline.pages.wording import drift_words
from driftline.pipeline import Frame, open_frame
from driftline.recipe import NEUTRAL, Recipe, identity, parameters, recipe_text

NOW = "now"
"""Instead of a version: what stands on the bench, saved or not."""


def save(desk: Desk, *, note: str, keep: bool) -> dict[str, Any]:
    """Save the recipe as it stands.

    Parameters
    ----------
    desk
        The bench.
    note
        The photographer's own words.
    keep
        Whether the frames on the bench become proofs of the recipe.
    """
    edit = desk.edit
    edit.look()
    name, softer_than = edit.name, edit.softened_from(identity(edit.recipe))
    settings: dict[str, Any] = {"kind": "temper", "parents": (softer_than,)} if softer_than else {}
    frames, unread = _readable(desk) if keep else ([], [])
    measured = save_measured(desk.ledger, name, None, proofs=frames, note=note, **settings)
    edit.saved()
    return _told(measured, unread)


def take_in(desk: Desk, *, new: str, note: str, keep: bool) -> dict[str, Any]:
    """Save a file that lies outside the ledger as a new recipe, and go on with that; the file stays.

    Raises
    ------
    LedgerError
        ``recipe-exists``, ``bad-name``.
    """
    edit = desk.edit
    edit.look()
    if check_name(new) in desk.ledger.recipes() or desk.ledger.working_bytes(new) is not None:
        raise LedgerError(
            "recipe-exists",
            f"{new}: there is a recipe of that name in the ledger",
            hint=f"another name; or, to make this its next version, driftline save {new} --from {edit.name}",
        )
    frames, unread = _readable(desk) if keep else ([], [])
    text = recipe_text(edit.recipe.model_copy(update={"name": new}), base=edit.text)
    measured = save_measured(desk.ledger, new, text, proofs=frames, note=note)
    desk.open(new)
    return _told(measured, unread)


def fork(desk: Desk, *, new: str, note: str) -> dict[str, Any]:
    """Begin a new recipe from what stands on the bench, and go on with that.

    An edit that is not saved goes into the new recipe; it stays in the old one's working file as well.
    """
    ledger, edit = desk.ledger, desk.edit
    edit.look()
    last = ledger.version(edit.name)
    if check_name(new) in ledger.recipes() or ledger.working_bytes(new) is not None:
        raise LedgerError("recipe-exists", f"{new}: there is a recipe of that name", hint="another name")
    if ledger.working_differs(edit.name):
        text = recipe_text(edit.recipe.model_copy(update={"name": new}), base=edit.text)
        measured = save_measured(
            ledger, new, text, proofs_of=(edit.name,), note=note, kind="fork", parents=(last.ref,)
        )
    else:
        measured = fork_measured(ledger, last.ref, new, note=note)
    desk.open(new)
    return _told(measured, [])


def restore(desk: Desk, *, ref: str, note: str) -> dict[str, Any]:
    """Make an old version the newest; refused while an edit is not saved."""
    measured = restore_measured(desk.ledger, ref, note=note)
    desk.edit.saved()
    return _told(measured, [])


def softer(
    desk: Desk, recipe: Recipe, *, verdict: str, along: str, check: Callable[[], None]
) -> dict[str, Any]:
    """Find a softer recipe on the frames of the bench; nothing is changed by that.

    Parameters
    ----------
    desk
        The bench.
    recipe
        What is to be eased.
    verdict, along
        As :func:`driftline.drift.temper` takes them.
    check
        Raises when nobody waits for this any more.
    """
    frames = []
    for proof in desk.proofs:
        check()
        try:
            proof.size()
            frames.append(proof)
        except FrameError:
            continue
    found = temper(frames, recipe, verdict=verdict, bands=desk.ledger.settings().bands, along=along)
    return {
        **found.json(),
        "already": found.already,
        "values": parameters(found.recipe),
        "words": words_between(recipe, found.recipe),
    }


def take_softer(desk: Desk, recipe: Recipe, *, seen: int, window: str) -> dict[str, Any]:
    """Take a softer recipe as an edit; a save of it is a tempered version of the last one."""
    edit = desk.edit
    changes = dict.fromkeys(edit.values) | parameters(recipe)
    clashes = edit.change(changes, seen=seen, window=window, gesture="")
    if not clashes and edit.name in desk.ledger.recipes():
        edit.softened(identity(recipe), desk.ledger.version(edit.name).ref)
    return {"clashes": [clash.json() for clash in clashes]}


def compare(desk: Desk, *, a: str, b: str, place: int) -> dict[str, Any]:
    """Two versions (or what stands now): what changed in words, and how far one stands from the other."""
    first, second = (recipe_of(desk, ref) for ref in (a, b))
    bands: Bands = desk.checking(place).bands
    drift = between(desk.proof(place), first, second, bands=bands)
    amounts = tuple(
        Amount(c.key, c.unit, 0.0, c.value, c.value, c.value if c.judgeable else None, c.verdict, c.ratio)
        for c in drift.causes.values()
        if c.comparable
    )
    return {
        "a": {"ref": a, "values": parameters(first)},
        "b": {"ref": b, "values": parameters(second)},
        "words": words_between(first, second),
        "drift": list(drift_words(amounts, limit=4)),
        "distance": Reading("", amounts).distance,
    }


def recipe_of(desk: Desk, ref: str) -> Recipe:
    """The recipe that a reference on the page means: ``now``, ``plain``, or a version."""
    if ref == NOW:
        return desk.edit.recipe
    return NEUTRAL if ref == "plain" else desk.ledger.read(ref)


def _readable(desk: Desk) -> tuple[list[Frame], list[str]]:
    frames, unread = [], []
    for proof in desk.proofs:
        try:
            frame = open_frame(proof.path)
            frame.sensor()
            frames.append(frame)
        except DriftlineError as error:
            unread.append(error.message)
    return frames, unread


def _told(measured: SavedMeasured, unread: Sequence[str]) -> dict[str, Any]:
    return {**measured.saved.json(), "problems": [*measured.problems, *unread]}
