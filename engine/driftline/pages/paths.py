"""The path of each parameter of a look over its versions, as a small drawing: time downwards, value sideways.

The drawing is the field once more: where the neutral value lies within reach it hangs as the plumb line, and
the path goes down from version to version at right angles. A bracket at the foot is as wide as the parameter
still moves. Everything the drawing shows stands in words above it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from driftline.pages.naming import parameter_name, value_words, width_words
from driftline.pages.wording import count, distance_words
from driftline.recipe.fields import neutral_value

if TYPE_CHECKING:
    from driftline.ledger import Course, Trend
    from driftline.pages.story import Look

WIDTH, HEIGHT = 150, 120
_SIDE, _TOP, _FOOT = 8.0, 6.0, 18.0
ROWS = 56
"""More versions than this share rows: each row spans what its versions did."""


@dataclass(frozen=True)
class Path:
    """One parameter: its words and its drawing.

    Attributes
    ----------
    name, field
        In words, and as the recipe's file has it.
    state, words, ends
        Whether it has settled, why that can be said, and its first, last, lowest and highest value.
    line
        The path, in a drawing :data:`WIDTH` by :data:`HEIGHT`; empty where there is nothing to draw.
    plumb
        Where the neutral value hangs; None out of reach.
    bracket
        From where to where the last versions still moved; None if it is too early to say.
    """

    name: str
    field: str
    state: str
    words: str
    ends: str
    line: str
    plumb: float | None
    bracket: tuple[float, float] | None


_STATES = {True: "settled", False: "still moves", None: "too early to say"}


def paths(trend: Trend | None) -> tuple[Path, ...]:
    """Every parameter that ever moved; what still moves first."""
    return () if trend is None else tuple(_path(course) for course in trend.courses)


def distance_path(look: Look) -> Path | None:
    """How far a look stood from the camera, version by version; None unless two versions were measured."""
    numbers = [version.distance for version in look.versions]
    known = [number for number in numbers if number is not None]
    if len(known) < 2:
        return None
    first, last, nearest, farthest = map(distance_words, (known[0], known[-1], min(known), max(known)))
    scale = _Scale(min(*known, 0.0), max(known), 0.0)
    return Path(
        name="distance from the camera",
        field="",
        state="",
        words=f"nearest {nearest}, farthest {farthest}",
        ends=f"{first} → {last}",
        line=_line(numbers, scale),
        plumb=scale.neutral,
        bracket=None,
    )


def summary(trend: Trend | None) -> str:
    """A look's trend in a sentence; nothing if no parameter has moved yet."""
    if trend is None or not trend.courses:
        return ""
    moved = count(len(trend.courses), "parameter")
    if any(course.settled is None for course in trend.courses):
        return f"{moved} moved; with {count(trend.versions, 'version')} it is too early to say what settles."
    settled = sum(course.settled is True for course in trend.courses)
    still = len(trend.courses) - settled
    return f"{moved} moved: {settled or 'none'} settled, {still or 'none'} still moving."


def _path(course: Course) -> Path:
    numbers = course.unrolled()
    known = [number for number in numbers if number is not None]
    neutral = None if course.field.endswith(".hue") else neutral_value(course.field)
    scale = _Scale(min(known, default=0.0), max(known, default=0.0), neutral)
    return Path(
        name=parameter_name(course.field),
        field=course.field,
        state=_STATES[course.settled],
        words=_why(course),
        ends=_ends(course),
        line=_line(numbers, scale),
        plumb=scale.neutral,
        bracket=_bracket(course, numbers, scale),
    )


class _Scale:
    """Values to places across the drawing."""

    def __init__(self, low: float, high: float, neutral: object = None) -> None:
        reach = max(high - low, 1e-9)
        self.neutral: float | None = None
        within = isinstance(neutral, float) and low - 1.5 * reach <= neutral <= high + 1.5 * reach
        if isinstance(neutral, float) and within:
            low, high = min(low, neutral), max(high, neutral)
        self._low, self._reach = low, max(high - low, 1e-9)
        if isinstance(neutral, float) and within:
            self.neutral = self.x(neutral)

    def x(self, value: float) -> float:
        """Where a value lies."""
        return round(_SIDE + (WIDTH - 2 * _SIDE) * (value - self._low) / self._reach, 1)


def _line(numbers: Sequence[float | None], scale: _Scale) -> str:
    """Down from version to version, across where the value moved, broken where there is none."""
    parts: list[str] = []
    drawing = False
    for y, row in _rows(numbers):
        values = [number for number in row if number is not None]
        if not values:
            drawing = False
            continue
        first, last = scale.x(values[0]), scale.x(values[-1])
        parts.append(f"V{y:g}H{first:g}" if drawing else f"M{first:g} {y:g}")
        low, high = scale.x(min(values)), scale.x(max(values))
        if len(values) > 1:
            parts.append(f"H{low:g}H{high:g}H{last:g}")
        drawing = True
    return "".join(parts) + (f"V{HEIGHT - _FOOT:g}" if drawing else "")


def _rows(numbers: Sequence[float | None]) -> Iterator[tuple[float, Sequence[float | None]]]:
    """The versions of each row, with its place from the top."""
    count_of = min(len(numbers), ROWS)
    for row in range(count_of):
        start, stop = row * len(numbers) // count_of, (row + 1) * len(numbers) // count_of
        y = _TOP + (HEIGHT - _TOP - _FOOT) * row / count_of
        yield round(y, 1), numbers[start:stop]


def _bracket(course: Course, numbers: Sequence[float | None], scale: _Scale) -> tuple[float, float] | None:
    last = [number for number in numbers[-course.tenth :] if number is not None]
    if course.settled is None or not last:
        return None
    return scale.x(min(last)), scale.x(max(last))


def _why(course: Course) -> str:
    if course.settled is None:
        return _STATES[None]
    over = f"over the last {count(course.tenth, 'version')}"
    if not all(isinstance(point.value, float) for point in course.points):
        kinds = count(int(course.last) + 1, "value")
        return f"{_STATES[course.settled]}: {kinds} {over}"
    moved = f"{width_words(course.field, course.last)} apart" if course.last else "unmoved"
    return (
        f"{_STATES[course.settled]}: {moved} {over}, "
        f"{width_words(course.field, course.most)} where it was liveliest"
    )


def _ends(course: Course) -> str:
    values = [point.value for point in course.points]
    first, last = (value_words(course.field, value) for value in (values[0], values[-1]))
    numbers = [value for value in values if isinstance(value, float)]
    said = f"{first} → {last}"
    if len(numbers) < len(values) or course.field.endswith(".hue"):
        return said
    low, high = (value_words(course.field, value) for value in (min(numbers), max(numbers)))
    return said if {low, high} <= {first, last} else f"{said}, between {low} and {high}"
