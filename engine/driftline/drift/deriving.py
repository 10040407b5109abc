"""Versions that come from others: fork, restore and blend, each with its drift."""

from __future__ import annotations

from typing import Any, NamedTuple

from driftline.drift.saving import SavedMeasured, save_measured, take_proofs
from driftline.errors import LedgerError
from driftline.ledger import Ledger, Saved, Version, check_name, parse_ref
from driftline.recipe import blend, recipe_text


class Blended(NamedTuple):
    """A blend as it was saved, and what did not blend, in words."""

    measured: SavedMeasured
    remarks: tuple[str, ...]


def fork_measured(ledger: Ledger, ref: str, new: str, *, note: str = "") -> SavedMeasured:
    """Begin a new recipe from a version of another.

    The look is the parent's, so it keeps the drift that was measured of the parent; and it is judged by the
    same proofs from here on.

    Parameters
    ----------
    ledger
        The ledger.
    ref
        A version, or a recipe's name for its last one.
    new
        A name that is free.
    note
        The photographer's own words.

    Raises
    ------
    LedgerError
        ``recipe-exists``, ``no-such-version``, ...
    """
    parent = ledger.version(ref)
    _check_free(ledger, new)
    text = ledger.text(parent.ref)
    renamed = ledger.read(parent.ref).model_copy(update={"name": new})
    saved = ledger.save(
        new,
        recipe_text(renamed, base=text),
        note=note,
        kind="fork",
        parents=(parent.ref,),
        **_drift_of(parent),
    )
    take_proofs(ledger, new, ledger.proofs(parent.recipe))
    return SavedMeasured(saved, dict(parent.drift or {}), [])


def restore_measured(ledger: Ledger, ref: str, *, note: str = "") -> SavedMeasured:
    """Make a new version that is what an old one was, with the drift that was measured of the old one.

    Raises
    ------
    LedgerError
        ``unsaved-edit`` when the working file holds a hand edit that is not saved; ``bad-ref`` without a
        number: the last version needs no restoring.
    """
    parse_ref(ref)
    old = ledger.version(ref)
    saved: Saved = ledger.save(
        old.recipe, ledger.text(old.ref), note=note, kind="restore", parents=(old.ref,), **_drift_of(old)
    )
    return SavedMeasured(saved, dict(old.drift or {}), [])


def blend_measured(ledger: Ledger, a: str, b: str, new: str, weight: float, *, note: str = "") -> Blended:
    """Make a new recipe between two versions, judged by the proofs of both.

    Parameters
    ----------
    ledger
        The ledger.
    a, b
        Versions, or recipes' names for their last ones.
    new
        A name that is free.
    weight
        How much of ``b``, 0 … 1.
    note
        The photographer's own words.

    Raises
    ------
    LedgerError
        ``recipe-exists``, ``no-such-version``, ...
    """
    first, second = ledger.version(a), ledger.version(b)
    _check_free(ledger, new)
    mixed, remarks = blend(ledger.read(first.ref), ledger.read(second.ref), weight)
    about = f"{weight:.0%} of {second.ref} in {first.ref}"
    measured = save_measured(
        ledger,
        new,
        recipe_text(mixed.model_copy(update={"name": new, "about": about})),
        proofs_of=(first.recipe, second.recipe),
        note=note,
        kind="blend",
        parents=(first.ref, second.ref),
    )
    return Blended(measured, tuple(remarks))


def _check_free(ledger: Ledger, new: str) -> None:
    if check_name(new) in ledger.recipes() or ledger.working_differs(new):
        raise LedgerError("recipe-exists", f"{new}: there is a recipe of that name", hint="another name")


def _drift_of(version: Version) -> dict[str, Any]:
    return {"drift": version.drift, "proofs": version.proofs, "edition": version.edition}
