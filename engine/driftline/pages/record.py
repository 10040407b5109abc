"""The shoots that looks were used on, from the ledger's record of prints."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import TYPE_CHECKING

from driftline.errors import DriftlineError
from driftline.pages.story import Shoot

if TYPE_CHECKING:
    from driftline.ledger import Ledger, Record

_RUN = re.compile(r"(?P<month>\d\d)(?P<day>\d\d)(?:-\d{6}-\d+|-(?P<name>.+))?")


@dataclass
class _Gathered:
    """What is known of one shoot so far; a frame counts once for each version it was printed with."""

    days: set[date] = field(default_factory=set)
    frames: dict[str, set[str]] = field(default_factory=dict)
    names: set[str] = field(default_factory=set)


def shoots_of(ledger: Ledger) -> tuple[tuple[Shoot, ...], str]:
    """The shoots of a ledger, those printed last first; and why its record could not be read, if so."""
    try:
        return gathered(ledger.printed()), ""
    except DriftlineError as error:
        return (), error.message


def gathered(records: Iterable[Record]) -> tuple[Shoot, ...]:
    """Lines of the record as shoots: by the folder the frames lay in, else by the run that printed them."""
    shoots: dict[tuple[str, str], _Gathered] = {}
    for record in records:
        frame, ref = record.line.get("frame"), record.line.get("ref")
        if not isinstance(frame, str) or not isinstance(ref, str):
            continue  # set aside, or not a print
        day, called = _run(record.year, record.run)
        name = str(record.line.get("shoot") or called)
        shoot = shoots.setdefault((name, "" if name else f"{record.year}/{record.run}"), _Gathered())
        shoot.frames.setdefault(ref, set()).add(frame)
        shoot.names |= {str(record.line["name"])} if record.line.get("name") else set()
        shoot.days |= {day} if day else set()
    told = [_shoot(name, found) for (name, _), found in shoots.items()]
    return tuple(sorted(told, key=lambda shoot: (shoot.last or date.min, shoot.name), reverse=True))


def _shoot(name: str, found: _Gathered) -> Shoot:
    return Shoot(
        name=name,
        first=min(found.days, default=None),
        last=max(found.days, default=None),
        frames={ref: len(frames) for ref, frames in found.frames.items()},
        between=(min(found.names, default=""), max(found.names, default="")),
    )


def _run(year: int, run: str) -> tuple[date | None, str]:
    """The day of a run and, if a person named it, its name: ``0412-harbour``."""
    found = _RUN.fullmatch(run)
    if found is None:
        return None, run
    try:
        return date(year, int(found["month"]), int(found["day"])), found["name"] or ""
    except ValueError:
        return None, run
