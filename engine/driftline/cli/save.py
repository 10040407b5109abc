"""``driftline save``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from driftline.cli import say
from driftline.cli.drift_line import drift_words
from driftline.cli.options import Json, LedgerPath, Note, open_ledger
from driftline.cli.readable import open_readable

if TYPE_CHECKING:
    from driftline.drift import SavedMeasured


def save(
    recipe: Annotated[str, typer.Argument(metavar="R", help="The recipe's name.")],
    source: Annotated[
        Path | None,
        typer.Option("--from", metavar="FILE", help="Take this file instead of the ledger's working file."),
    ] = None,
    proof: Annotated[
        list[Path] | None,
        typer.Option("--proof", metavar="FRAME", help="Keep this frame as a proof first; may be repeated."),
    ] = None,
    note: Note = "",
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> int:
    """Save a new version of a recipe, measured on its proofs.

    A proof that cannot be read or is missing never blocks a save.
    """
    from driftline.drift import save_measured  # noqa: PLC0415
    from driftline.recipe import read_text  # noqa: PLC0415

    opened = open_ledger(ledger)
    text = read_text(source) if source else None
    frames, failed = open_readable(proof) if proof else ([], [])
    tell(
        save_measured(opened, recipe, text, proofs=frames, note=note),
        as_json=as_json,
        failed=[failure.json() for failure in failed],
    )
    return 1 if failed else 0


def tell(measured: SavedMeasured, *, as_json: bool, **more: Any) -> None:
    """Say what was saved, for a photographer or as one document with whatever else belongs into it."""
    for problem in measured.problems:
        say.remark(problem)
    if as_json:
        say.document({**measured.saved.json(), **more, "drift": measured.drift or None})
    else:
        say.lines(report(measured))


def report(measured: SavedMeasured) -> list[str]:
    """What a save did, for a photographer."""
    from driftline.recipe import in_words  # noqa: PLC0415

    saved, drift = measured.saved, measured.drift
    came_from = " and ".join(saved.parents)
    origin = "" if saved.kind in ("version", "words") else f", {saved.kind} of {came_from}"
    lines = [f"saved {saved.ref}{origin}" if saved.saved else f"nothing to save: {saved.ref} is the same"]
    lines += [f"  {words}" for words in in_words(saved.changes)]
    if saved.saved and saved.kind == "words":
        lines.append("  words only; the look is the same")
    if drift:
        lines.append(f"  drift: {drift_words(drift)}")
    return lines
