"""``driftline page``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from driftline.cli import say
from driftline.cli.options import Json, LedgerPath, open_ledger
from driftline.cli.progress import progress_bar


def page(
    out: Annotated[
        Path, typer.Option("--out", metavar="DIR", help="Where the pages go; what changed is made anew.")
    ] = Path("driftline-page"),
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Write the history as web pages that open from disk."""
    from driftline.pages import ledger_page  # noqa: PLC0415

    with progress_bar(quiet=as_json, doing="developing proofs") as progress:
        first = ledger_page(open_ledger(ledger), out, progress=progress)
    if as_json:
        say.document({"page": str(first)})
        return
    say.lines([f"the history is in {first}; open it in a browser"])
