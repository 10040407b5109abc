"""``driftline trace``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from driftline.cli import say
from driftline.cli.correct import in_words
from driftline.cli.options import Json, LedgerPath
from driftline.cli.remaking import remade

if TYPE_CHECKING:
    from driftline.prints import Traced


def trace(
    path: Annotated[Path, typer.Argument(metavar="PRINT", help="A print, whatever it is called now.")],
    remake: Annotated[
        Path | None,
        typer.Option("--remake", metavar="FILE", help="Make the print again, into this new file."),
    ] = None,
    frames: Annotated[
        list[Path] | None,
        typer.Option("--frames", metavar="DIR", help="Where to look for its frame; may be repeated."),
    ] = None,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Say what made a print, and make it again.

    To make it again, its frame is looked for beside the print and in the current folder, or in --frames; its
    recipe in the ledger, or in the print itself.
    """
    from driftline.prints import read_provenance  # noqa: PLC0415

    traced = read_provenance(path)
    again = remade(traced, path, remake, frames or [], ledger) if remake else None
    if as_json:
        say.document({**_json(traced), **({"remade": again.json()} if again else {})})
        return
    say.lines([f"{path.name}: {traced.in_words}", *say.table(_rows(traced))])
    if again:
        say.lines(again.in_words)


def _json(traced: Traced) -> dict[str, Any]:
    told, making = traced.provenance, traced.provenance.making
    return {
        "recipe": making.recipe,
        "version": told.version,
        "ref": making.ref,
        "commit": told.commit,
        "frame": {"name": told.frame, "fingerprint": making.fingerprint},
        "correction": making.correction,
        "likeness": making.likeness,
        "edition": making.edition,
        "intact": traced.intact,
        "located": traced.located,
        "provenance": told.model_dump(mode="json"),
    }


def _rows(traced: Traced) -> list[tuple[str, str]]:
    told, making = traced.provenance, traced.provenance.making
    recipe = making.ref or f"{making.recipe} (a file, in no ledger)"
    return [
        ("  recipe", f"{recipe}, its text in the print" if told.recipe_text is not None else recipe),
        ("  commit", (told.commit or "none")[:12]),
        ("  frame", f"{told.frame}, fingerprint {making.fingerprint[:12]}"),
        ("  correction", _correction(making.correction)),
        ("  likeness", making.likeness or "none: the general rendering"),
        ("  exposure", f"{told.anchor_ev:+.2f} EV to where the camera's own picture stands"),
        ("  size", _size(traced)),
        ("  colour", {"srgb": "sRGB", "display-p3": "Display P3"}.get(making.space, making.space)),
        ("  location", "the print says where it was taken" if traced.located else "left out"),
        ("  edition", f"{making.edition} of the pipeline"),
    ]


def _size(traced: Traced) -> str:
    """What was asked for, and what became of it where the frame is smaller."""
    asked, acutance = traced.provenance.making.long_edge, traced.provenance.making.acutance
    size = f"{asked} px on the longer side" if asked else "as taken"
    if asked and traced.intact and traced.long_edge and traced.long_edge < asked:
        size = f"as taken, {traced.long_edge} px on the longer side; {asked} at most were asked for"
    return f"{size}, acutance {acutance:g} added" if acutance else size


def _correction(text: str | None) -> str:
    from driftline.recipe import parse_correction  # noqa: PLC0415

    return in_words(parse_correction(text, source="the print's correction")) if text else "none"
