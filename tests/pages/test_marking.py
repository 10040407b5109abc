"""Difference maps as drawings."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from driftline.drift.where import NAMES
from driftline.errors import FrameError
from driftline.pages.build import _draw
from driftline.pages.folder import PageFolder
from driftline.pages.marking import EDGE, KINDS, drawn, in_words, legend
from driftline.pages.story import Map, Marks
from pages.history import marks


def test_every_kind_of_difference_has_a_mark() -> None:
    """What drift tells apart, the pages draw; each by a path of its own."""
    assert KINDS == NAMES
    assert len({shape.path for shape in legend()}) == len(KINDS)


def test_marks_lie_in_their_squares() -> None:
    """The third of four squares across the right half of a picture is marked at 81 % of its width."""
    found = drawn(Marks((1, 4), (0.25, 0.5, 0.5, 0.5), (300, 600), ((0, 2, "less colour", 1.0),)))
    assert (found.width, found.height) == (EDGE, EDGE // 2)
    left, y, length = map(float, re.match(r"M(\S+) (\S+)h(\S+)$", found.shapes[0].path).groups())  # type: ignore[union-attr]
    assert left + length / 2 == pytest.approx(812.5, abs=1)
    assert y == pytest.approx(250, abs=1)


def test_a_larger_difference_is_a_larger_mark() -> None:
    """Size says how much, up to a full square; no mark leaves its square."""

    def width(amount: float) -> float:
        path = (
            drawn(Marks((1, 1), (0, 0, 1, 1), (100, 100), ((0, 0, "newly clipped", amount),))).shapes[0].path
        )
        return float(re.search(r"h(\d+)", path)[1])  # type: ignore[index]

    assert width(1.0) < width(3.0) < width(5.0) == width(50.0) < EDGE


def test_the_map_is_told_in_words() -> None:
    """Shares of the picture, the commonest first; nothing to see is said too."""
    told = in_words(marks("darker", "darker", "more colour")).replace("\u00a0", " ")
    assert told.startswith("Laid against the camera rendering, 50 % of the picture would be noticed: ")
    assert told.endswith(": 33 % darker and 17 % more colour.")
    assert in_words(marks()) == "Laid against the camera rendering, nothing would be noticed anywhere."


def test_no_colour_carries_meaning() -> None:
    """The drawing has black and white only."""
    colours = set(re.findall(r"#[0-9a-f]{3,6}\b", _draw(marks(*KINDS))))
    assert colours - {f"#m{n}" for n in range(1, 9)} <= {"#000", "#fff"}


def test_a_map_is_drawn_once_and_told_again(tmp_path: Path) -> None:
    """A second build takes the drawing, its size and its words from the folder."""
    folder = PageFolder(tmp_path / "pages")
    folder.take()
    loads: list[int] = []

    def load() -> Marks:
        loads.append(1)
        return marks("lighter")

    first = folder.map(Map("tram-fog@1", load), _draw)
    again = PageFolder(folder.root).map(Map("tram-fog@1", load), _draw)
    assert first == again
    assert loads == [1]
    assert (first.width, first.height) == (1000, 667)
    assert first.alt == in_words(marks("lighter"))


def test_a_map_that_cannot_be_made_says_why(tmp_path: Path) -> None:
    """It costs only itself."""
    folder = PageFolder(tmp_path / "pages")
    folder.take()

    def load() -> Marks:
        raise FrameError("proof-damaged", "kept proof: damaged")

    assert folder.map(Map("x", load), _draw).reason == "kept proof: damaged"
    assert folder.map(Map("x", lambda: marks("darker")), _draw).address
