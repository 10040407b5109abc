"""Drift as the ledger keeps it, read back."""

from __future__ import annotations

import pytest

from driftline.pages.readings import readings_of

BANDS = {"exposure": (0.17, 0.35), "chroma": (0.25, 0.5), "clip_high": (1.5, 4.0)}


def band(key: str, amount: float) -> tuple[float, float] | None:
    """The default bands of FACTS, both signs alike."""
    return BANDS.get(key)


def kept(*proofs: dict[str, list[float | None]], **reasons: str) -> dict[str, object]:
    """Drift as a version keeps it: four numbers a cause and proof, the unit of each cause, reasons."""
    keys = dict.fromkeys([key for numbers in proofs for key in numbers] + list(reasons))
    causes = {
        key: {"unit": "EV", "comparable": key not in reasons, "reason": reasons.get(key, "")} for key in keys
    }
    return {"causes": causes, "frames": {f"f{n}": {"causes": numbers} for n, numbers in enumerate(proofs)}}


@pytest.mark.parametrize(
    ("judged", "verdict"),
    [(0.0, "in keeping"), (0.169, "in keeping"), (-0.17, "leaning"), (0.349, "leaning"), (-0.35, "overdone")],
)
def test_verdict_is_by_todays_bands(judged: float, verdict: str) -> None:
    """Below notice in keeping, up to the second band leaning, from there on overdone; both signs."""
    (found,) = readings_of(kept({"exposure": [0.0, judged, judged, judged]}), band)
    assert found.verdict == verdict
    assert found.distance == pytest.approx(abs(judged) / 0.17)


def test_one_reading_a_proof() -> None:
    """Every proof has its own four numbers."""
    numbers: list[list[float | None]] = [[0.05, 0.1, 0.15, 0.1], [0.0, -0.3, -0.3, -0.3]]
    found = readings_of(kept(*({"exposure": row} for row in numbers)), band)
    assert [reading.proof for reading in found] == ["f0", "f1"]
    first, second = (reading.amounts[0] for reading in found)
    assert (first.floor, first.edit, first.total, first.judged, first.unit) == (0.05, 0.1, 0.15, 0.1, "EV")
    assert second.verdict == "leaning"


def test_causes_alone_belong_to_the_only_proof() -> None:
    """Drift of one proof as ``check`` gives it is read too."""
    cause = {"floor": 0.0, "edit": 0.17, "total": 0.17, "judged": 0.17, "unit": "EV", "verdict": "?"}
    (found,) = readings_of({"causes": {"exposure": cause}}, band, only_proof="f1")
    assert found.proof == "f1"
    assert found.distance == pytest.approx(1.0)


def test_not_comparable_is_never_a_number() -> None:
    """A cause that is comparable on no proof has no number, and its reason."""
    (found,) = readings_of(kept({"exposure": [0.0, 0.1, 0.1, 0.1]}, hue="a monochrome rendering"), band)
    hue = next(amount for amount in found.amounts if amount.key == "hue")
    assert not hue.comparable
    assert hue.reason == "a monochrome rendering"


def test_a_cause_that_one_proof_lacks_is_not_borrowed_from_another() -> None:
    """Numbers of one proof never stand under another."""
    found = readings_of(kept({"exposure": [0.0, 0.1, 0.1, 0.1]}, {"chroma": [0.0, 0.3, 0.3, 0.3]}), band)
    shown = [[amount.key for amount in reading.amounts if amount.comparable] for reading in found]
    assert shown == [["exposure"], ["chroma"]]


def test_numbers_that_are_not_judged_give_no_distance() -> None:
    """Low confidence is shown and never judged."""
    (found,) = readings_of(kept({"exposure": [0.0, 0.9, 0.9, None]}), band)
    assert found.amounts[0].total == 0.9
    assert found.distance is None


def test_fewer_clipped_pixels_are_no_fault() -> None:
    """Clipping below the camera's counts nothing."""
    (found,) = readings_of(kept({"clip_high": [0.0, -9.0, -9.0, -9.0]}), band)
    assert found.verdict == "in keeping"
    assert found.distance == 0.0


FOREIGN: list[object] = [
    None,
    {},
    [],
    "drift",
    3,
    {"causes": None},
    {"causes": {"exposure": "much"}},
    {"causes": {"exposure": {}}, "frames": {"f1": None, "f2": {"causes": {"exposure": "0.1"}}}},
    {"causes": {}, "frames": ["f1"]},
    {"frames": {"f1": {"causes": {"exposure": [True, {}, "x"]}}}},
]


@pytest.mark.parametrize("drift", FOREIGN)
def test_what_someone_else_wrote_there_is_passed_over(drift: object) -> None:
    """Foreign or damaged drift gives no distance and no failure."""
    assert all(found.distance is None for found in readings_of(drift, band))


def test_a_reason_is_not_told_of_a_proof_it_may_not_belong_to() -> None:
    """Where one proof has no number at all, the reason kept for all of them may be that proof's own."""
    numbers: dict[str, list[float | None]] = {"exposure": [0.0, 0.1, 0.1, 0.1]}
    first, second = readings_of(kept(numbers, {}, hue_skin="no camera rendering"), band)
    assert [amount.reason for amount in (*first.amounts, *second.amounts)] == [""] * 4
    (alone,) = readings_of(kept({}, exposure="no camera rendering"), band)
    assert alone.amounts[0].reason == "no camera rendering"
