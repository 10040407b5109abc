"""``driftline proof``."""

from __future__ import annotations

from typing import Annotated

import typer

from driftline.cli import say
from driftline.cli.options import Frames, Json, LedgerPath, open_ledger


def proof(
    recipe: Annotated[str, typer.Argument(metavar="R", help="The recipe's name.")],
    frames: Frames,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Choose the frames a recipe is judged by; they are kept in the ledger, small and linear."""
    from driftline.drift import add_proofs  # noqa: PLC0415
    from driftline.frames import list_frames  # noqa: PLC0415
    from driftline.pipeline import open_frame  # noqa: PLC0415

    chosen = [open_frame(path) for path in list_frames(frames)]
    kept = add_proofs(open_ledger(ledger), recipe, chosen)
    if as_json:
        say.document({"recipe": recipe, "proofs": kept})
        return
    say.lines([f"{recipe} is judged on {len(kept)} proof{'s' if len(kept) != 1 else ''}:"])
    say.lines(f"  {name}  {fingerprint[:12]}" for fingerprint, name in kept.items())
