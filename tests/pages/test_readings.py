"""Drift as the ledger keeps it, read back."""

from __future__ import annotations

import pytest

from driftline.pages.readings import readings_of

BANDS = {"exposure": (0.17, 0.35), "chroma": (0.25, 0.5), "clip_high": (1.5, 4.0)}


def band(key: str, amount: float) -> tuple[float, float] | None:
    """The default bands of FACTS, both signs alike."""
    return BANDS.get(key)


def cause(judged: float | None, **given: object) -> dict[str, object]:
    """One cause as it is kept."""
    return {
        "floor": 0.0,
        "edit": judged,
        "total": judged,
        "judged": judged,
        "unit": "EV",
        "verdict": "?",
        **given,
    }


@pytest.mark.parametrize(
    ("judged", "verdict"),
    [(0.0, "in keeping"), (0.169, "in keeping"), (-0.17, "leaning"), (0.349, "leaning"), (-0.35, "overdone")],
)
def test_verdict_is_by_todays_bands(judged: float, verdict: str) -> None:
    """Below notice in keeping, up to the second band leaning, from there on overdone; both signs."""
    (found,) = readings_of({"f1": {"causes": {"exposure": cause(judged)}}}, band)
    assert found.verdict == verdict
    assert found.distance == pytest.approx(abs(judged) / 0.17)


def test_one_reading_a_proof_or_one_without_a_fingerprint() -> None:
    """Drift by proof and drift of an only proof are both read."""
    causes = {"causes": {"exposure": cause(0.1)}}
    assert [r.proof for r in readings_of({"f1": causes, "f2": causes}, band)] == ["f1", "f2"]
    assert [r.proof for r in readings_of(causes, band, only_proof="f1")] == ["f1"]


def test_not_comparable_is_never_a_number() -> None:
    """Nulls stay nothing, with their reason."""
    (found,) = readings_of({"f1": {"causes": {"hue": cause(None, reason="a monochrome rendering")}}}, band)
    assert found.distance is None
    assert found.amounts[0].comparable is False
    assert found.amounts[0].reason == "a monochrome rendering"


def test_fewer_clipped_pixels_are_no_fault() -> None:
    """Clipping below the camera's counts nothing."""
    (found,) = readings_of({"f1": {"causes": {"clip_high": cause(-9.0)}}}, band)
    assert found.verdict == "in keeping"
    assert found.distance == 0.0


@pytest.mark.parametrize(
    "drift",
    [None, {}, [], "drift", 3, {"f1": None}, {"f1": {"causes": None}}, {"causes": {"exposure": "much"}}],
)
def test_what_someone_else_wrote_there_is_passed_over(drift: object) -> None:
    """Foreign or damaged drift gives no distance and no failure."""
    assert all(found.distance is None for found in readings_of(drift, band))
