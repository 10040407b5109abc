"""Distances and verdicts of versions."""

from __future__ import annotations

import pytest

from driftline.pages import Amount, Reading
from pages.history import FOG, NIGHT, amount, reading, version


def test_distance_is_the_largest_ratio_of_judged_to_notice() -> None:
    """The cause that stands farthest out against its notice band decides."""
    found = reading(exposure=0.17, chroma=0.5)
    assert found.distance == pytest.approx(2.0)
    assert found.largest is not None
    assert found.largest.key == "chroma"
    assert found.verdict == "overdone"


def test_version_stands_where_its_worst_proof_is() -> None:
    """Of several proofs the one that drifted farthest decides distance and verdict."""
    found = version("tram-fog@1", 0, reading(NIGHT, exposure=0.1), reading(FOG, exposure=-0.3))
    assert found.farthest is not None
    assert found.farthest.proof == FOG
    assert found.distance == pytest.approx(0.3 / 0.17)
    assert found.verdict == "leaning"


def test_without_anything_judged_there_is_no_distance() -> None:
    """A version that was not measured, or only on what cannot be compared, has no place, not place 0."""
    hopeless = Reading(NIGHT, (Amount("hue", "deg", None, None, None, None, reason="monochrome"),))
    assert version("tram-fog@1").distance is None
    assert version("tram-fog@1", 0, hopeless).distance is None
    assert version("tram-fog@1", 0, hopeless).verdict == "not judged"


def test_exactly_nothing_is_on_the_line() -> None:
    """An edit that moved nothing stands on the line."""
    assert Reading(NIGHT, (amount("exposure", 0.0, 0.17),)).distance == 0.0
