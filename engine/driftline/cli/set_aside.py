"""``driftline set-aside``."""

from __future__ import annotations

from typing import Annotated

import typer

from driftline.cli import say
from driftline.cli.options import Frames, Json, LedgerPath, open_ledger


def set_aside(
    frames: Frames,
    take_back: Annotated[
        bool, typer.Option("--take-back", help="The other way round: frames set aside wait again.")
    ] = False,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Close a shoot, or part of it: what is left was looked at.

    Its frames that are not printed are no longer part of the backlog. Nothing is deleted or moved.
    """
    from driftline.batch import look_over  # noqa: PLC0415
    from driftline.batch import set_aside as close  # noqa: PLC0415

    opened = open_ledger(ledger)
    closed = close(frames, opened, aside=not take_back)
    counts = look_over(frames, opened).counts
    if as_json:
        say.document({"taken_back" if take_back else "set_aside": closed, "counts": counts})
        return
    done = "taken back" if take_back else "set aside"
    told = f"{say.count(closed, 'frame')} {done}" if closed else f"nothing was left to be {done}"
    say.lines([f"{told}; {counts['printed']} printed, {counts['set-aside']} set aside in all"])
