"""A softer version of a recipe, saved with its parent."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from driftline.drift.causes import NAMES
from driftline.drift.on_proofs import measure_on
from driftline.drift.saving import SavedMeasured, add_proofs, kept_frames, save_measured
from driftline.drift.tempering import ALL, Tempered, check_words, temper
from driftline.drift.verdict import IN_KEEPING, strictest
from driftline.errors import LedgerError, UsageError
from driftline.ledger import Ledger, Saved, Version
from driftline.pipeline import Frame
from driftline.recipe import NEUTRAL, differences, in_words, recipe_text


class TemperedVersion(NamedTuple):
    """A softer version as it was saved, and how it was found; ``saved`` is False when none was needed."""

    measured: SavedMeasured
    tempered: Tempered


def temper_version(
    ledger: Ledger,
    ref: str,
    *,
    proofs: Sequence[Frame] = (),
    verdict: str = IN_KEEPING,
    along: str = ALL,
    note: str = "",
) -> TemperedVersion:
    """Save a softer version of a recipe, with its parent, measured on the recipe's proofs.

    Parameters
    ----------
    ledger
        The ledger.
    ref
        A version, or a recipe's name for its last one.
    proofs
        Frames to keep as proofs first; they decode.
    verdict, along
        As in :func:`temper`.
    note
        The photographer's own words.

    Returns
    -------
    TemperedVersion
        Nothing is saved when the version has the verdict already.

    Raises
    ------
    LedgerError
        ``unsaved-edit`` when the working file holds a hand edit that is not saved; ``no-such-version``, ...
    UsageError
        ``temper-without-proofs``, ``temper-out-of-reach`` and those of :func:`temper`; nothing is saved.
    """
    check_words(verdict, along)
    parent = ledger.version(ref)
    _check_saved(ledger, parent)
    if proofs:
        add_proofs(ledger, parent.recipe, proofs)
    frames, problems = kept_frames(ledger, parent.recipe)
    if not frames:
        raise UsageError(
            "temper-without-proofs",
            f"{parent.recipe} has no proofs{': ' if problems else ''}{'; '.join(problems)}",
            hint=f"driftline temper {ref} --proof FRAME",
        )
    bands = ledger.settings().bands
    found = temper(frames, ledger.read(parent.ref), verdict=verdict, bands=bands, along=along)
    if found.already:
        drift = measure_on(frames, found.recipe, bands=bands)
        return TemperedVersion(SavedMeasured(_as_it_is(parent), drift, problems), found)
    if not found.reached:
        raise _out_of_reach(found, parent.ref, [frame.path.name for frame in frames])
    text = recipe_text(found.recipe, base=ledger.text(parent.ref))
    measured = save_measured(ledger, parent.recipe, text, note=note, kind="temper", parents=(parent.ref,))
    return TemperedVersion(measured, found)


def _check_saved(ledger: Ledger, parent: Version) -> None:
    if ledger.working_differs(parent.recipe):
        raise LedgerError(
            "unsaved-edit",
            f"{parent.recipe}: the working file holds a hand edit that is not saved",
            hint=f"driftline save {parent.recipe} first; or put the file away",
        )


def _as_it_is(parent: Version) -> Saved:
    return Saved(
        False, parent.recipe, parent.version, parent.ref, parent.commit, parent.kind, (), parent.parents
    )


def _out_of_reach(found: Tempered, ref: str, names: Sequence[str]) -> UsageError:
    """What still stands out at strength 0, where, and what tempering leaves alone."""
    worst = strictest(one.verdict for one in found.after)
    place = next(i for i, one in enumerate(found.after) if one.verdict == worst)
    left = in_words(differences(NEUTRAL, found.recipe))
    why = f"; what tempering leaves alone: {', '.join(left)}" if left else ""
    return UsageError(
        "temper-out-of-reach",
        f"{ref}: {found.wanted} is out of reach: at strength 0 {names[place]} is still {worst}"
        f" in {NAMES.get(found.after[place].largest or '', 'all')}{why}",
        hint=f"change what is left alone by hand{', or --to leaning' if found.wanted == IN_KEEPING else ''}",
    )
