"""``driftline fork``."""

from __future__ import annotations

from typing import Annotated

import typer

from driftline.cli.options import Json, LedgerPath, Note, open_ledger
from driftline.cli.save import tell


def fork(
    version: Annotated[str, typer.Argument(metavar="R@V", help="The version to begin from.")],
    new: Annotated[str, typer.Argument(metavar="NEW", help="The new recipe's name.")],
    note: Note = "",
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Begin a new recipe from a version of another.

    It keeps its parent in the lineage, and is judged by the parent's proofs.
    """
    from driftline.drift import fork_measured  # noqa: PLC0415

    tell(fork_measured(open_ledger(ledger), version, new, note=note), as_json=as_json)
