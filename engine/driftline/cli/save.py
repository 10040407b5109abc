"""``driftline save``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from driftline.cli import say
from driftline.cli.history import drift_words
from driftline.cli.options import Json, LedgerPath, Note, open_ledger

if TYPE_CHECKING:
    from driftline.ledger import Saved


def save(
    recipe: Annotated[str, typer.Argument(metavar="R", help="The recipe's name.")],
    source: Annotated[
        Path | None,
        typer.Option("--from", metavar="F", help="Take this file instead of the ledger's working file."),
    ] = None,
    proof: Annotated[
        list[Path] | None,
        typer.Option("--proof", metavar="FRAME", help="Keep this frame as a proof of the recipe first."),
    ] = None,
    note: Note = "",
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Save a new version of a recipe, measured on its proofs."""
    from driftline.drift import save_measured  # noqa: PLC0415
    from driftline.frames import list_frames  # noqa: PLC0415
    from driftline.pipeline import open_frame  # noqa: PLC0415
    from driftline.recipe import read_text  # noqa: PLC0415

    opened = open_ledger(ledger)
    text = read_text(source) if source else None
    frames = [open_frame(path) for path in list_frames(proof or [])]
    saved, drift, missing = save_measured(opened, recipe, text, proofs=frames, note=note)
    for problem in missing:
        say.remark(problem)
    if as_json:
        say.document({**saved.json(), "drift": drift})
        return
    say.lines(report(saved, drift))


def report(saved: Saved, drift: dict[str, Any] | None = None) -> list[str]:
    """What a save did, for a photographer."""
    from driftline.recipe import in_words  # noqa: PLC0415

    if not saved.saved:
        return [f"nothing to save: {saved.ref} is the same"]
    kind = "" if saved.kind == "version" else f" ({saved.kind})"
    lines = [f"saved {saved.ref}{kind}", *(f"  {words}" for words in in_words(saved.changes))]
    if saved.kind == "words":
        lines.append("  words only; the look is the same")
    if drift:
        lines.append(f"  drift: {drift_words(drift)}")
    return lines
