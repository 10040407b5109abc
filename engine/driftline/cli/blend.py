"""``driftline blend``."""

from __future__ import annotations

from typing import Annotated

import typer

from driftline.cli import say
from driftline.cli.options import Json, LedgerPath, Note, open_ledger
from driftline.cli.save import tell


def blend(
    a: Annotated[str, typer.Argument(metavar="A", help="A version: name or name@version.")],
    b: Annotated[str, typer.Argument(metavar="B", help="Another.")],
    new: Annotated[str, typer.Argument(metavar="NEW", help="The new recipe's name.")],
    weight: Annotated[
        float, typer.Option("--weight", metavar="W", min=0.0, max=1.0, help="How much of B: 0 is A, 1 is B.")
    ],
    note: Note = "",
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Make a new recipe between two versions.

    It keeps both as parents, and is judged by the proofs of both.
    """
    from driftline.drift import blend_measured  # noqa: PLC0415

    measured, remarks = blend_measured(open_ledger(ledger), a, b, new, weight, note=note)
    for remark in remarks:
        say.remark(remark)
    tell(measured, as_json=as_json, notes=list(remarks))
