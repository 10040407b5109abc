"""How a look settles, drawn in text."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from driftline.cli import say

if TYPE_CHECKING:
    from driftline.ledger import Course, Trend

_STATES = {True: "settled", False: "still moves", None: "too early to say"}


def charted(trend: Trend) -> Iterator[str]:
    """Each parameter on a line, what still moves first: its path from the oldest version to the newest."""
    yield f"{trend.recipe}: {say.count(trend.versions, 'version')}"
    if not trend.courses:
        yield "  no parameter has moved yet"
    yield from say.table([_row(course) for course in trend.courses])


def _row(course: Course) -> tuple[str, str, str, str]:
    first, last = (_value(course.points[place].value) for place in (0, -1))
    unit = f" {course.unit}" if course.unit else ""
    return f"  {course.field}", course.chart(), f"{first} → {last}{unit}", _STATES[course.settled]


def _value(value: Any) -> str:
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple):
        return "/".join(f"{part:g}" for part in value)
    return "off" if value is None else str(value)
