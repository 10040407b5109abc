"""``driftline shoot``."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from driftline.cli import say
from driftline.cli.options import Frames, Json, LedgerPath, ledger_if_any

if TYPE_CHECKING:
    from driftline.batch import FrameState
    from driftline.frames import ExposureData


PRACTICE = (
    "beside the exposures: common practice, no judgement; [practice] in the ledger's settings.toml has it"
)


MANY = 1000
"""More frames than anybody reads the lines of: they are told by folder."""

Each = Annotated[
    bool,
    typer.Option(
        "--each", help=f"A line for each frame, even of more than {MANY}; else one for each folder."
    ),
]


def shoot(frames: Frames, each: Each = False, ledger: LedgerPath = None, as_json: Json = False) -> int:
    """Say what came in, what is printed, and what is still to do.

    Of more than a day's frames, one line tells of each folder in which frames wait.
    """
    from driftline.batch import look_over  # noqa: PLC0415

    found = look_over(frames, ledger_if_any(ledger))
    if as_json:
        waiting = found.backlog(datetime.now())
        told = [one.json() for one in found.frames]
        say.document({"frames": told, "counts": found.counts, "backlog": waiting}, indent=None)
    else:
        total = sum(found.counts.values())
        say.lines(_by_folder(found.folders) if total > MANY and not each else _by_frame(found.frames))
        say.lines([found.backlog(datetime.now()) if total else "no raw files here"])
        for problem in found.problems:
            say.trouble(f"cannot be read: {problem}")
    return 1 if found.problems else 0


def _by_folder(folders: Mapping[Path, Mapping[str, int]]) -> list[str]:
    """A line for each folder with something left to do, and how many others there are."""
    from driftline.batch.names import places_told  # noqa: PLC0415

    named = zip(places_told(list(folders)), folders.values(), strict=True)
    rows = [(name, *_counted(one)) for name, one in named if one["undeveloped"] or one["unreadable"]]
    lines = say.table(rows, right=[1])
    closed = len(folders) - len(rows)
    rest = [f"{say.count(closed, 'folder')}{' more' if lines else ''} in which nothing waits"]
    return [*lines, *(rest if closed else []), "told by folder, being many; --each tells of each frame"]


def _counted(one: Mapping[str, int]) -> tuple[str, str]:
    """How many frames there are, and in which states."""
    named = {
        "undeveloped": "wait",
        "unreadable": "unreadable",
        "printed": "printed",
        "set-aside": "set aside",
    }
    states = ", ".join(f"{one[state]} {words}" for state, words in named.items() if one[state])
    return say.count(sum(one.values()), "frame"), states


def _by_frame(frames: Sequence[FrameState]) -> list[str]:
    """A line for each frame, and what the hints in it are."""
    from driftline.batch.names import told_names  # noqa: PLC0415

    names = told_names([one.path for one in frames])
    rows = [(name, *_row(one)) for name, one in zip(names, frames, strict=True)]
    lines = say.table(rows, right=[3, 4, 5, 6, 7])
    return [*lines, PRACTICE] if any(hints for *_, hints, _ in rows) else lines


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
