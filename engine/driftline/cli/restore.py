"""``driftline restore``."""

from __future__ import annotations

from typing import Annotated

import typer

from driftline.cli.options import Json, LedgerPath, Note, open_ledger
from driftline.cli.save import tell


def restore(
    version: Annotated[str, typer.Argument(metavar="R@V", help="The version to go back to.")],
    note: Note = "",
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Make an old version the newest one.

    Everything between stays in the history.
    """
    from driftline.drift import restore_measured  # noqa: PLC0415

    tell(restore_measured(open_ledger(ledger), version, note=note), as_json=as_json)
