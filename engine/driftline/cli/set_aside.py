"""``driftline set-aside``."""

from __future__ import annotations

from driftline.cli import say
from driftline.cli.options import Frames, Json, LedgerPath, open_ledger


def set_aside(frames: Frames, ledger: LedgerPath = None, as_json: Json = False) -> None:
    """Close a shoot, or part of it: frames looked at and not wanted leave the backlog."""
    from driftline.batch import look_over  # noqa: PLC0415
    from driftline.batch import set_aside as close  # noqa: PLC0415

    opened = open_ledger(ledger)
    count = close(frames, opened)
    if as_json:
        say.document({"set_aside": count, "counts": look_over(frames, opened).counts})
        return
    say.lines([f"{count} frame{'s' if count != 1 else ''} set aside"])
