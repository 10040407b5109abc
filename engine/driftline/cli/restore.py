"""``driftline restore``."""

from __future__ import annotations

from typing import Annotated

import typer

from driftline.cli import say
from driftline.cli.options import Json, LedgerPath, Note, open_ledger
from driftline.cli.save import report


def restore(
    version: Annotated[str, typer.Argument(metavar="R@V", help="The version to go back to.")],
    note: Note = "",
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Make an old version the newest; everything between stays in the history."""
    saved = open_ledger(ledger).restore(version, note=note)
    if as_json:
        say.document(saved.json())
        return
    say.lines(report(saved))
