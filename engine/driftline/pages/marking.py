"""A difference map as a drawing: one mark a square, told apart by its shape, its size saying how much.

No meaning is left to a colour: the marks are black with a white rim, so that they show on any tone, and lie
over the version's own picture in grey.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from driftline.pages.story import Marks
from driftline.pages.wording import listed

EDGE = 1000  # of the drawing, along the picture's longer side
_LARGEST = 5.0  # notices at which a mark fills its square


def _wedge(x: float, y: float, r: float) -> str:
    return f"M{x - r:.0f} {y + r:.0f}h{2 * r:.0f}l{-r:.0f}{-2 * r:.0f}z"


def _wedge_down(x: float, y: float, r: float) -> str:
    return f"M{x - r:.0f} {y - r:.0f}h{2 * r:.0f}l{-r:.0f} {2 * r:.0f}z"


def _bar(x: float, y: float, r: float) -> str:
    return f"M{x - r:.0f} {y:.0f}h{2 * r:.0f}"


def _cross(x: float, y: float, r: float) -> str:
    return f"{_bar(x, y, r)}M{x:.0f} {y - r:.0f}v{2 * r:.0f}"


def _wave(x: float, y: float, r: float) -> str:
    return f"M{x - r:.0f} {y:.0f}q{r / 2:.0f}{-1.2 * r:.0f} {r:.0f} 0t{r:.0f} 0"


def _square(x: float, y: float, r: float) -> str:
    return f"M{x - r:.0f} {y - r:.0f}h{2 * r:.0f}v{2 * r:.0f}h{-2 * r:.0f}z"


_SHAPES: Mapping[str, tuple[Callable[[float, float, float], str], bool]] = {
    "lighter": (_wedge, True),
    "darker": (_wedge_down, True),
    "more colour": (_cross, False),
    "less colour": (_bar, False),
    "another hue": (_wave, False),
    "newly clipped": (_square, True),
}
KINDS = tuple(_SHAPES)
"""What a mark may say."""


@dataclass(frozen=True)
class Shape:
    """All marks of one kind: the path, whether it is filled or drawn as lines, and what it says."""

    kind: str
    path: str
    filled: bool


@dataclass(frozen=True)
class Drawn:
    """A difference map as the template draws it."""

    width: int
    height: int
    words: str
    shapes: tuple[Shape, ...]


def drawn(marks: Marks) -> Drawn:
    """The marks as paths over the whole picture, one path a kind, and what they say in words."""
    height, width = marks.size
    scale = EDGE / max(height, width)
    rows, columns = marks.shape
    top, left, high, wide = marks.part
    step_x, step_y = wide * width * scale / columns, high * height * scale / rows
    paths: dict[str, list[str]] = {}
    for row, column, kind, amount in marks.squares:
        x, y = left * width * scale + (column + 0.5) * step_x, top * height * scale + (row + 0.5) * step_y
        r = min(step_x, step_y) * (0.1 + 0.3 * min(amount / _LARGEST, 1.0))
        paths.setdefault(kind, []).append(_SHAPES[kind][0](x, y, r))
    shapes = tuple(Shape(kind, "".join(paths[kind]), _SHAPES[kind][1]) for kind in KINDS if kind in paths)
    return Drawn(round(width * scale), round(height * scale), in_words(marks), shapes)


def in_words(marks: Marks) -> str:
    r"""How much of the picture would be noticed, and as what.

    Examples
    --------
    >>> in_words(Marks((2, 2), (0, 0, 1, 1), (10, 10), ((0, 0, "darker", 1.4),), "plain"))
    'Laid against plain, 25\xa0% of the picture would be noticed: 25\xa0% darker.'
    """
    every = marks.shape[0] * marks.shape[1]
    counts = Counter(kind for _, _, kind, _ in marks.squares)
    if not counts:
        return f"Laid against {marks.against}, nothing would be noticed anywhere."
    parts = [f"{_percent(number, every)} {kind}" for kind, number in counts.most_common()]
    share = _percent(len(marks.squares), every)
    return f"Laid against {marks.against}, {share} of the picture would be noticed: {listed(parts)}."


def legend() -> tuple[Shape, ...]:
    """One mark of each kind, in a drawing 24 wide and high."""
    return tuple(Shape(kind, shape(12, 12, 8), filled) for kind, (shape, filled) in _SHAPES.items())


def _percent(number: int, every: int) -> str:
    return f"{100 * number / every:.0f}\u00a0%" if number * 200 >= every else "under 1\u00a0%"
