"""``driftline proof``."""

from __future__ import annotations

from typing import Annotated

import typer

from driftline.cli import say
from driftline.cli.options import Frames, Json, LedgerPath, open_ledger
from driftline.cli.readable import open_readable


def proof(
    recipe: Annotated[str, typer.Argument(metavar="R", help="The recipe's name.")],
    frames: Frames,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> int:
    """Choose the frames that a recipe is judged by.

    Each is kept in the ledger as a small copy, and measured at every save, even when the raw is away.
    """
    from driftline.drift import add_proofs  # noqa: PLC0415

    opened = open_ledger(ledger)
    opened.version(recipe)
    chosen, failed = open_readable(frames)
    kept = add_proofs(opened, recipe, chosen)
    if as_json:
        proofs = [{"fingerprint": fingerprint, "name": name} for fingerprint, name in kept.items()]
        say.document({"recipe": recipe, "proofs": proofs, "failed": [one.json() for one in failed]})
    else:
        say.lines([f"{recipe} is judged by {say.count(len(kept), 'proof')}"])
        say.lines(f"  {name}" for name in kept.values())
    return 1 if failed else 0
