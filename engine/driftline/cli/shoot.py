"""``driftline shoot``."""

from __future__ import annotations

import os
from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from driftline.cli import say
from driftline.cli.options import Frames, Json, LedgerPath, ledger_if_any

if TYPE_CHECKING:
    from driftline.batch import FrameState
    from driftline.frames import ExposureData


PRACTICE = (
    "beside the exposures: common practice, no judgement; [practice] in the ledger's settings.toml has it"
)


def shoot(frames: Frames, ledger: LedgerPath = None, as_json: Json = False) -> int:
    """Say what came in, what is printed, and what is still to do."""
    from driftline.batch import look_over  # noqa: PLC0415

    found = look_over(frames, ledger_if_any(ledger))
    if as_json:
        waiting = found.backlog(datetime.now())
        told = [one.json() for one in found.frames]
        say.document({"frames": told, "counts": found.counts, "backlog": waiting}, indent=None)
    else:
        rows = [(name, *_row(one)) for name, one in zip(_names(found.frames), found.frames, strict=True)]
        say.lines(say.table(rows, right=[3, 4, 5, 6, 7]))
        say.lines([PRACTICE] if any(hints for *_, hints, _ in rows) else [])
        say.lines([found.backlog(datetime.now()) if found.frames else "no raw files here"])
        for one in found.frames:
            if one.problem:
                say.trouble(f"cannot be read: {one.problem}")
    return 1 if any(one.problem for one in found.frames) else 0


def _names(frames: Sequence[FrameState]) -> list[str]:
    """What frames are called here: their names, or where those would be alike, their places as well."""
    names = [one.path.name for one in frames]
    if len(set(names)) == len(names):
        return names
    top = os.path.commonpath([one.path.parent for one in frames])
    return [os.path.relpath(one.path, top) for one in frames]


def _row(one: FrameState) -> tuple[str, ...]:
    if one.problem:
        return ("cannot be read", *[""] * 8)
    return _state(one), *_exposure(one.exposure), "; ".join(one.hints), _remark(one)


def _state(one: FrameState) -> str:
    """What became of it; a later version of its recipe is a fact, not something to do."""
    if not one.ref:
        return one.state
    return f"{one.state}, {one.ref}" + (f", now @{one.now.partition('@')[2]}" if one.now else "")


def _remark(one: FrameState) -> str:
    """What there is to say of its camera rendering."""
    if one.unpaired:
        return one.unpaired
    return "" if one.has_rendering else "no camera rendering"


def _exposure(seen: ExposureData) -> tuple[str, ...]:
    """Time, shutter, aperture, ISO, focal length and bias; what is not known stays empty."""
    from driftline.batch.hints import shutter  # noqa: PLC0415

    return (
        f"{seen.taken:%Y-%m-%d %H:%M}" if seen.taken else "",
        shutter(seen.shutter_s),
        f"f/{seen.aperture:.2g}" if seen.aperture else "",
        f"ISO {seen.iso:.0f}" if seen.iso else "",
        f"{round(seen.focal_mm, 1):g} mm" if seen.focal_mm else "",
        f"{seen.bias_ev:+.1f} EV" if seen.bias_ev else "",
    )
