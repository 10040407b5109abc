"""How a look settles."""

from __future__ import annotations

import math
import random

import pytest

from driftline.ledger import Ledger
from driftline.ledger.trend import trend_of


def states(**series: list[object]) -> list[tuple[str, str, dict[str, object]]]:
    """Versions with these values of each parameter (underscores stand for dots)."""
    length = max(len(values) for values in series.values())
    return [
        (f"x@{n + 1}", "", {key.replace("_", "."): values[n] for key, values in series.items()})
        for n in range(length)
    ]


def settled(values: list[object], field: str = "exposure_ev") -> bool | None:
    """Whether a parameter of these values counts as settled; None if it never moved."""
    trend = trend_of("x", states(**{field: values}), {}, {})
    return trend.courses[0].settled if trend.courses else None


def test_a_damped_swing_settles() -> None:
    """A parameter that swings less and less has settled; one that swings on has not."""
    swing = [math.exp(-n / 15) * math.cos(n) for n in range(100)]
    assert settled(swing) is True
    assert settled([math.cos(n) for n in range(100)]) is False


def test_a_steady_drift_has_not_settled() -> None:
    """What moves on at the same pace is still moving, however little each step is."""
    assert settled([n / 1000 for n in range(200)]) is False


def test_a_late_move_counts() -> None:
    """Long rest and then a jump at the end is moving; a jump long ago is settled."""
    assert settled([0.0] * 95 + [1.0] * 5) is False
    assert settled([0.0] * 20 + [1.0] * 80) is True


def test_noise_of_constant_size_has_not_settled() -> None:
    """Random steps of the same size throughout are moving."""
    chance = random.Random(4)
    assert settled([chance.gauss(0, 1) for _ in range(150)]) is False


def test_too_few_versions_say_nothing() -> None:
    """Below ten versions it is too early to say."""
    trend = trend_of("x", states(curve_slope=[1.0, 1.2, 1.1]), {}, {})
    assert trend.courses[0].settled is None
    assert trend.moving == ()


def test_hues_are_unrolled_across_zero() -> None:
    """350 and 10 degrees are 20 apart."""
    trend = trend_of("x", states(split_low_hue=[350.0, 10.0] * 6), {}, {})
    assert trend.courses[0].most == pytest.approx(20.0)


def test_switches_have_a_course_too() -> None:
    """A contrast filter that changed has a course of names, and counts of different ones for spread."""
    values = ["yellow", None, "red", "red"] + ["red"] * 10
    trend = trend_of("x", states(mono_filter=values), {}, {})
    assert (trend.courses[0].settled, trend.courses[0].first, trend.courses[0].last) == (True, 2.0, 0.0)
    assert trend.courses[0].chart() == "·" * 14


def test_the_chart_shows_lowest_and_highest() -> None:
    """Eight heights from the lowest to the highest value; long courses are thinned to the width."""
    trend = trend_of("x", states(curve_slope=[float(n) for n in range(8)]), {}, {})
    assert trend.courses[0].chart() == "▁▂▃▄▅▆▇█"
    trend = trend_of("x", states(curve_slope=[float(n) for n in range(1000)]), {}, {})
    assert len(trend.courses[0].chart(40)) == 40
    assert trend.courses[0].chart(40)[0] == "▁"
    assert trend.courses[0].chart(40)[-1] == "█"


def test_the_trend_of_a_recipe_reads_its_versions(ledger: Ledger) -> None:
    """Through the ledger: values by version, oldest first, with units; what never moved is left out."""
    for ev in (0.4, 0.45):
        ledger.save("tram-fog", f"exposure.ev = {ev}\n")
    trend = ledger.trend("tram-fog")
    assert [course.field for course in trend.courses] == ["exposure.ev"]
    course = trend.courses[0]
    assert [(point.ref, point.value) for point in course.points] == [
        ("tram-fog@1", 0.35), ("tram-fog@2", 0.4), ("tram-fog@3", 0.45),
    ]  # fmt: skip
    assert course.unit == "EV"
    assert trend.json()["parameters"][0]["points"][2]["value"] == 0.45


def test_spreads_are_those_of_every_window() -> None:
    """First, last and liveliest tenth agree with the largest less the smallest value of each window."""
    chance = random.Random(3)
    for field in ("exposure.ev", "split.low.hue"):
        values = [chance.uniform(0, 100) for _ in range(137)]  # of hues none is nearer across 0 degrees
        course = trend_of("x", [(f"x@{n}", "", {field: v}) for n, v in enumerate(values)], {}, {}).courses[0]
        windows = [values[n : n + 14] for n in range(137 - 14 + 1)]
        spreads = [max(window) - min(window) for window in windows]
        assert (course.first, course.last, course.most) == pytest.approx(
            (spreads[0], spreads[-1], max(spreads))
        )
