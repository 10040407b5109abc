"""Saving a version with its drift, and keeping proofs: where pixels and the ledger meet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from driftline.drift.learning import likeness_of
from driftline.drift.on_proofs import measure_on
from driftline.errors import FrameError, LedgerError
from driftline.ledger import Ledger, Saved
from driftline.pipeline import EDITION, Developable, Frame, KeptFrame, keep
from driftline.recipe import parse_recipe


class SavedMeasured(NamedTuple):
    """What was saved, and how far it drifts.

    Attributes
    ----------
    saved
        As :meth:`driftline.ledger.Ledger.save` gives it.
    drift
        As :func:`~driftline.drift.on_proofs.measure_on` gives it; empty without proofs.
    problems
        Which proofs could not be measured, and why, in words.
    """

    saved: Saved
    drift: dict[str, Any]
    problems: list[str]


def add_proofs(ledger: Ledger, recipe: str, frames: Sequence[Frame]) -> dict[str, str]:
    """Keep frames as proofs of a recipe, beside those it has.

    Parameters
    ----------
    ledger
        Where they are kept.
    recipe
        A recipe of which a version is saved.
    frames
        Frames that decode.

    Returns
    -------
    dict
        All proofs of the recipe now: the frame's name by fingerprint.

    Raises
    ------
    FrameError
        A frame cannot be decoded; nothing is kept then.
    LedgerError
        ``no-such-recipe``, ...
    """
    ledger.versions(recipe)
    _keep(ledger, frames)
    chosen = [*ledger.proofs(recipe), *(frame.fingerprint() for frame in frames)]
    ledger.set_proofs(recipe, chosen)
    found, _ = kept_frames(ledger, recipe)
    return {frame.fingerprint(): frame.path.name for frame in found}


def kept_frames(ledger: Ledger, *recipes: str) -> tuple[list[KeptFrame], list[str]]:
    """The proofs of one recipe or several, and what is wrong with those that cannot be had, in words."""
    frames, problems = [], []
    wanted = {fingerprint: recipe for recipe in recipes for fingerprint in ledger.proofs(recipe)}
    for fingerprint, recipe in wanted.items():
        try:
            frames.append(kept_frame(ledger, fingerprint))
        except (LedgerError, FrameError) as error:
            problems.append(f"{recipe}: proof {fingerprint[:12]} is not measured: {error.message}")
    return frames, problems


def kept_frame(ledger: Ledger, fingerprint: str) -> KeptFrame:
    """A kept proof, with the likeness of its camera where one was learned.

    Raises
    ------
    LedgerError
        ``no-such-proof``.
    FrameError
        ``proof-damaged``.
    """
    frame = KeptFrame(ledger.read_proof(fingerprint))
    frame.likeness = likeness_of(ledger, frame)
    return frame


def save_measured(
    ledger: Ledger,
    name: str,
    text: str | None = None,
    *,
    proofs: Sequence[Frame] = (),
    proofs_of: Sequence[str] = (),
    **settings: Any,
) -> SavedMeasured:
    """Save a version, measured on the recipe's proofs.

    Parameters
    ----------
    ledger, name, text
        As :meth:`driftline.ledger.Ledger.save` takes them.
    proofs
        Frames to keep as proofs first; they decode.
    proofs_of
        Recipes whose proofs a new recipe takes over.
    settings
        Further keywords of :meth:`driftline.ledger.Ledger.save`: ``note``, ``kind``, ``parents``.

    Returns
    -------
    SavedMeasured
        A proof that is missing from the ledger is in its problems, and never blocks a save.

    Raises
    ------
    FrameError
        A frame of ``proofs`` cannot be decoded; nothing is saved then.
    RecipeError, LedgerError
        As :meth:`driftline.ledger.Ledger.save` raises them.
    """
    content = ledger.working_text(name) if text is None else text
    recipe = parse_recipe(content, source=name)
    _keep(ledger, proofs)
    frames, problems = kept_frames(ledger, name, *proofs_of)
    known = {frame.fingerprint() for frame in frames}
    new: list[Developable] = [frame for frame in proofs if frame.fingerprint() not in known]
    measured = [*frames, *new]
    fingerprints = [frame.fingerprint() for frame in measured]
    drift = measure_on(measured, recipe, bands=ledger.settings().bands)
    saved = ledger.save(
        name, text, drift=drift or None, proofs=fingerprints, edition=str(EDITION), **settings
    )
    if new or proofs_of:
        take_proofs(ledger, name, fingerprints)
    return SavedMeasured(saved, drift, problems)


def take_proofs(ledger: Ledger, recipe: str, fingerprints: Sequence[str]) -> None:
    """Let a recipe be judged by these proofs, beside those it has; none are none."""
    if fingerprints:
        ledger.set_proofs(recipe, [*ledger.proofs(recipe), *fingerprints])


def _keep(ledger: Ledger, frames: Sequence[Frame]) -> None:
    made = [(frame, keep(frame)) for frame in frames]
    for frame, files in made:
        ledger.keep_proof(frame.fingerprint(), files, name=frame.path.name)
