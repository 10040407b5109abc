"""``driftline trace``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from driftline.cli import say
from driftline.cli.options import Json


def trace(
    path: Annotated[Path, typer.Argument(metavar="PRINT", help="A print, whatever it is called now.")],
    as_json: Json = False,
) -> None:
    """Say what made a print, and whether its picture is still the one that was made."""
    from driftline.prints import read_provenance  # noqa: PLC0415

    traced = read_provenance(path)
    told, making = traced.provenance, traced.provenance.making
    if as_json:
        say.document(
            {
                "recipe": making.recipe,
                "version": told.version,
                "ref": making.ref,
                "commit": told.commit,
                "frame": {"name": told.frame, "fingerprint": making.fingerprint},
                "edition": making.edition,
                "intact": traced.intact,
                "provenance": told.model_dump(mode="json"),
            }
        )
        return
    say.lines([f"{path.name}: {traced.in_words}"])
    say.lines(
        say.table(
            [
                ("  recipe", making.ref or f"{making.recipe} (a file, in no ledger)"),
                ("  commit", told.commit or "none"),
                ("  frame", f"{told.frame}  {making.fingerprint[:12]}"),
                ("  edition", str(making.edition)),
                ("  size", f"{making.long_edge} px" if making.long_edge else "as developed"),
                ("  space", making.space),
            ]
        )
    )
