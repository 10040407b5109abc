"""``driftline fork``."""

from __future__ import annotations

from typing import Annotated

import typer

from driftline.cli import say
from driftline.cli.options import Json, LedgerPath, Note, open_ledger
from driftline.cli.save import report


def fork(
    version: Annotated[str, typer.Argument(metavar="R@V", help="The version to begin from.")],
    new: Annotated[str, typer.Argument(metavar="NEW", help="The new recipe's name.")],
    note: Note = "",
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Begin a new recipe from a version of another; it keeps its parent."""
    saved = open_ledger(ledger).fork(version, new, note=note)
    if as_json:
        say.document(saved.json())
        return
    say.lines(report(saved))
