"""How a look settles: the course of each parameter over its versions, and what still moves."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple, TypeAlias

Value: TypeAlias = float | str | tuple[float, ...] | None

FEWEST = 10
"""With fewer versions it is too early to say whether a parameter has settled."""

STILL = 0.25
"""A parameter has settled when the last tenth of its versions spreads at most this much of the liveliest."""

_BARS = "▁▂▃▄▅▆▇█"


class Point(NamedTuple):
    """A parameter as one version has it."""

    ref: str
    when: str
    value: Value


@dataclass(frozen=True)
class Course:
    """One parameter over the versions of a recipe, oldest first.

    ``first`` and ``last`` are the spreads within the first and the last tenth of the versions, ``most`` that
    of the liveliest tenth: largest minus smallest for numbers (hues unrolled across 0°), one less than the
    count of different values for switches. ``settled`` is None when there are too few versions to say.
    """

    field: str
    unit: str
    points: tuple[Point, ...]
    first: float
    last: float
    most: float
    settled: bool | None

    @property
    def tenth(self) -> int:
        """How many versions a tenth is; at least three."""
        return _tenth(len(self.points))

    def unrolled(self) -> list[float | None]:
        """The number of each version, hues carried on across 0°; None where the parameter has none."""
        values = [point.value for point in self.points]
        rest = iter(_unrolled(self.field, [v for v in values if isinstance(v, float)]))
        return [next(rest) if isinstance(v, float) else None for v in values]

    def chart(self, width: int = 40) -> str:
        """The course as a line of bars, lowest to highest value; a dot where the parameter has no number."""
        numbers = self.unrolled()
        known = [number for number in numbers if number is not None]
        low, high = min(known, default=0.0), max(known, default=0.0)
        drawn = ["·" if number is None else _bar(number, low, high) for number in numbers]
        if len(drawn) <= width:
            return "".join(drawn)
        return "".join(drawn[place * (len(drawn) - 1) // (width - 1)] for place in range(width))

    def json(self) -> dict[str, Any]:
        """The course as ``history --trend --json`` gives it."""
        return {
            "field": self.field,
            "unit": self.unit,
            "settled": self.settled,
            "spread": {"first": self.first, "last": self.last, "most": self.most},
            "points": [
                {
                    "ref": point.ref,
                    "when": point.when,
                    "value": list(point.value) if isinstance(point.value, tuple) else point.value,
                }
                for point in self.points
            ],
        }


@dataclass(frozen=True)
class Trend:
    """How a recipe settles: the parameters that ever moved, the liveliest first."""

    recipe: str
    versions: int
    courses: tuple[Course, ...]

    @property
    def moving(self) -> tuple[str, ...]:
        """The parameters that have not settled."""
        return tuple(course.field for course in self.courses if course.settled is False)

    def json(self) -> dict[str, Any]:
        """The trend as ``history --trend --json`` gives it."""
        return {
            "recipe": self.recipe,
            "versions": self.versions,
            "moving": list(self.moving),
            "parameters": [course.json() for course in self.courses],
        }


def trend_of(
    recipe: str,
    states: Sequence[tuple[str, str, Mapping[str, Value]]],
    units: Mapping[str, str],
    neutral: Mapping[str, Value],
) -> Trend:
    """The trend of a recipe.

    Parameters
    ----------
    recipe
        Its name.
    states
        Oldest first: ref, time, and every parameter by field path.
    units, neutral
        Of each parameter that appears; its neutral value stands where a version does not mention it.
    """
    fields = dict.fromkeys(field for _, _, values in states for field in values)
    courses = []
    for field in fields:
        still = neutral.get(field)
        column = [values.get(field, still) for _, _, values in states]
        if column.count(column[0]) < len(column):
            points = tuple(
                Point(ref, when, value) for (ref, when, _), value in zip(states, column, strict=True)
            )
            courses.append(_course(field, units.get(field, ""), points))
    courses.sort(key=lambda course: (course.settled is not False, -course.last / (course.most or 1.0)))
    return Trend(recipe, len(states), tuple(courses))


def _course(field: str, unit: str, points: tuple[Point, ...]) -> Course:
    values = [point.value for point in points]
    tenth = _tenth(len(values))
    spreads = _spreads(field, values, tenth) or [0.0]
    last, most = spreads[-1], max(spreads)
    settled = last <= STILL * most if len(values) >= FEWEST else None
    return Course(field, unit, points, spreads[0], last, most, settled)


def _tenth(versions: int) -> int:
    return max(3, -(-versions // 10))


def _spreads(field: str, values: Sequence[Value], width: int) -> list[float]:
    """The spread within every `width` versions that follow one another."""
    numbers = [value for value in values if isinstance(value, float)]
    if len(numbers) < len(values):
        return [_spread(field, values[n : n + width]) for n in range(len(values) - width + 1)]
    unrolled = _unrolled(field, numbers)
    highest, lowest = _highest(unrolled, width), _highest([-number for number in unrolled], width)
    return [high + low for high, low in zip(highest, lowest, strict=True)]


def _highest(numbers: Sequence[float], width: int) -> list[float]:
    """The largest of every `width` numbers that follow one another, in one pass."""
    found: list[float] = []
    falling: deque[int] = deque()  # places of numbers that no later one exceeds
    for place, number in enumerate(numbers):
        while falling and numbers[falling[-1]] <= number:
            falling.pop()
        falling.append(place)
        if falling[0] <= place - width:
            falling.popleft()
        if place >= width - 1:
            found.append(numbers[falling[0]])
    return found


def _spread(field: str, values: Sequence[Value]) -> float:
    numbers = [value for value in values if isinstance(value, float)]
    if len(numbers) == len(values):
        unrolled = _unrolled(field, numbers)
        return max(unrolled) - min(unrolled)
    return float(len({repr(value) for value in values}) - 1)


def _unrolled(field: str, numbers: Sequence[float]) -> list[float]:
    """Hues carried on across 0°, so that 350° and 10° are 20° apart; other numbers as they are."""
    if not field.endswith(".hue"):
        return list(numbers)
    unrolled: list[float] = []
    for number in numbers:
        near = unrolled[-1] if unrolled else number
        unrolled.append(near + (number - near + 180.0) % 360.0 - 180.0)
    return unrolled


def _bar(value: float, low: float, high: float) -> str:
    if high == low:
        return _BARS[0]
    return _BARS[min(7, int(8 * (value - low) / (high - low)))]
