"""``driftline set-aside``."""

from __future__ import annotations

from driftline.cli import say
from driftline.cli.options import Frames, Json, LedgerPath, open_ledger


def set_aside(frames: Frames, ledger: LedgerPath = None, as_json: Json = False) -> None:
    """Close a shoot, or part of it: what is left was looked at.

    Its frames that are not printed are no longer part of the backlog. Nothing is deleted or moved.
    """
    from driftline.batch import look_over  # noqa: PLC0415
    from driftline.batch import set_aside as close  # noqa: PLC0415

    opened = open_ledger(ledger)
    closed = close(frames, opened)
    counts = look_over(frames, opened).counts
    if as_json:
        say.document({"set_aside": closed, "counts": counts})
        return
    told = f"{say.count(closed, 'frame')} set aside" if closed else "nothing was left to set aside"
    say.lines([f"{told}; {counts['printed']} printed, {counts['set-aside']} set aside in all"])
