"""``driftline shoot``."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from driftline.cli import say
from driftline.cli.options import Frames, Json, LedgerPath, open_ledger
from driftline.errors import LedgerError

if TYPE_CHECKING:
    from driftline.batch import FrameState
    from driftline.ledger import Ledger


def shoot(frames: Frames, ledger: LedgerPath = None, as_json: Json = False) -> None:
    """Say what came in, what is printed, and what is still to do."""
    from driftline.batch import look_over  # noqa: PLC0415

    found = look_over(frames, _ledger_if_any(ledger))
    if as_json:
        say.document({"frames": [one.json() for one in found.frames], "counts": found.counts})
        return
    say.lines(say.table([_row(one) for one in found.frames]))
    say.lines([found.backlog(datetime.now())])


def _ledger_if_any(path: Path | None) -> Ledger | None:
    try:
        return open_ledger(path)
    except LedgerError as error:
        if path or error.code != "ledger-not-found":
            raise
        return None


def _row(one: FrameState) -> tuple[str, ...]:
    if one.problem:
        return one.path.name, "cannot be read", one.problem, ""
    seen = one.exposure
    state = f"{one.state} ({one.ref})" if one.ref else one.state
    if seen is None:
        return one.path.name, state, "", ""
    parts = [
        f"{seen.taken:%Y-%m-%d %H:%M}" if seen.taken else "",
        shutter(seen.shutter_s),
        f"f/{seen.aperture:g}" if seen.aperture else "",
        f"ISO {seen.iso:g}" if seen.iso else "",
        f"{seen.focal_mm:g} mm" if seen.focal_mm else "",
        f"{seen.bias_ev:+.1f} EV" if seen.bias_ev else "",
    ]
    rendering = "" if one.has_rendering else "no camera rendering"
    return one.path.name, state, "  ".join(part for part in parts if part) or "exposure unknown", rendering


def shutter(seconds: float | None) -> str:
    """A shutter time as it is read off a dial.

    Examples
    --------
    >>> shutter(0.004), shutter(2.0), shutter(None)
    ('1/250 s', '2 s', '')
    """
    if not seconds:
        return ""
    return f"1/{round(1 / seconds)} s" if seconds < 0.5 else f"{seconds:g} s"
