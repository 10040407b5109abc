"""The path of each parameter, drawn and in words."""

from __future__ import annotations

import re

import pytest

from driftline.ledger.trend import trend_of
from driftline.pages.paths import HEIGHT, ROWS, WIDTH, Path, distance_path, paths, summary
from driftline.pages.story import Look
from pages.history import reading, version


def path_of(values: list[object], field: str = "exposure.ev") -> Path:
    """The path of one parameter of these values."""
    states = [(f"x@{n}", "", {field: value}) for n, value in enumerate(values)]
    return paths(trend_of("x", states, {}, {}))[0]  # type: ignore[arg-type]


def places(line: str) -> list[float]:
    """Where a path stands across the drawing, in its order."""
    return [float(found) for found in re.findall(r"[MH]([\d.]+)", line)]


def test_time_runs_downwards_and_value_sideways() -> None:
    """Three versions: out, farther out, back; the neutral value hangs at the left as the plumb line."""
    path = path_of([0.0, 0.4, 0.2])
    assert places(path.line) == [8.0, 142.0, 75.0]
    downs = [float(y) for y in re.findall(r"V([\d.]+)", path.line)]
    assert downs == sorted(downs)
    assert path.plumb == 8.0


def test_a_neutral_value_out_of_reach_is_not_drawn() -> None:
    """What moves little and far from neutral is drawn by itself; hues have no neutral."""
    assert path_of([3.0, 3.1]).plumb is None
    assert path_of([20.0, 30.0], "split.low.hue").plumb is None


def test_a_hue_goes_on_across_zero() -> None:
    """From 350° to 10° is a short way, not the whole circle."""
    first, second, third = places(path_of([340.0, 350.0, 10.0], "split.low.hue").line)
    assert first < second < third


def test_a_gap_breaks_the_path() -> None:
    """Where a switch is off there is nothing to draw."""
    assert path_of([5000.0, None, 5200.0], "white.kelvin").line.count("M") == 2


def test_words_alone_where_there_is_no_number() -> None:
    """A contrast filter is told, not drawn."""
    path = path_of([None, "yellow", "red"], "mono.filter")
    assert path.line == ""
    assert path.ends == "off → red"
    assert path.name == "contrast filter"


@pytest.mark.parametrize("versions", [2, ROWS, ROWS + 1, 2000])
def test_the_drawing_stays_within_its_frame_and_small(versions: int) -> None:
    """However many versions, no more rows than fit, and what moved within a row spans it."""
    path = path_of([0.3 * (-1) ** n for n in range(versions)])
    assert all(0 <= x <= WIDTH for x in places(path.line))
    assert all(0 <= float(y) <= HEIGHT for y in re.findall(r"V([\d.]+)", path.line))
    assert len(path.line) < 40 * ROWS


def test_what_settled_and_what_moves_is_said() -> None:
    """The state, what the last versions still did, and a bracket as wide."""
    settled = path_of([0.5, -0.5, 0.4, -0.4, *[0.1] * 20])
    assert settled.state == "settled"
    assert settled.words == "settled: unmoved over the last 3 versions, 1.00 EV where it was liveliest"
    moving = path_of([(-1) ** n * 0.5 for n in range(20)])
    assert moving.state == "still moves"
    assert moving.bracket == (8.0, 142.0)
    early = path_of([0.0, 0.1])
    assert (early.state, early.bracket) == ("too early to say", None)


def test_first_last_and_extremes_are_said() -> None:
    """The values a path begins and ends with, and how far it went meanwhile."""
    assert path_of([1.0, 1.35, 1.14], "curve.slope").ends == "1.00 → 1.14, between 1.00 and 1.35"
    assert path_of([0.0, -0.35]).ends == "0.00 EV → −0.35 EV"


def test_a_trend_is_summed_up() -> None:
    """How many parameters settled, or that it is too early."""
    states = [
        (f"x@{n}", "", {"exposure.ev": 0.1 * (-1) ** n, "curve.slope": 1 + (n < 3) * 0.2 * n})
        for n in range(20)
    ]
    assert summary(trend_of("x", states, {}, {})) == "2 parameters moved: 1 settled, 1 still moving."  # type: ignore[arg-type]
    assert "too early" in summary(trend_of("x", states[:4], {}, {}))  # type: ignore[arg-type]
    assert summary(None) == ""


def test_distance_is_a_path_too() -> None:
    """How far the look stood, from the camera's line; nothing with fewer than two measured versions."""
    versions = (
        version("a@1", 0, reading(exposure=0.34)),
        version("a@2", 1),
        version("a@3", 2, reading(exposure=0.17)),
    )
    path = distance_path(Look("a", "", versions))
    assert path is not None
    assert path.ends == "2.0 × notice → 1.0 × notice"
    assert path.plumb == 8.0
    assert path.line.count("M") == 2
    assert distance_path(Look("a", "", versions[:2])) is None
