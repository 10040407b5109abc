"""What a recipe has been: every version with its distance, and the way of each parameter through them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from driftline.pages.later import LaterReadings, chosen, edition_of, measured_at_save
from driftline.pages.readings import readings_of
from driftline.pages.story import Reading
from driftline.pages.telling import when_of
from driftline.pages.wording import day, distance_words

if TYPE_CHECKING:
    from driftline.ledger import Ledger
    from driftline.ledger import Version as Saved

_LONGEST_NOTE = 2000


def versions_json(ledger: Ledger, name: str) -> list[dict[str, Any]]:
    """Every version of a recipe, oldest first, at its distance by the bands of today; none is none.

    What was measured later, for the pages, counts as well.
    """
    if name not in ledger.recipes():
        return []
    bands = ledger.settings().bands

    def band(key: str, amount: float) -> tuple[float, float] | None:
        tolerance = getattr(bands, key, None)
        return None if tolerance is None else tolerance.for_sign(amount)

    later, proofs = LaterReadings(ledger, edition_of(ledger)), chosen(ledger, name)

    def readings(saved: Saved) -> tuple[Reading, ...]:
        found = [
            (proof, later.found(saved, proof)) for proof in proofs if proof not in measured_at_save(saved)
        ]
        drifts = [(next(iter(saved.proofs), ""), saved.drift), *((p, one.drift) for p, one in found if one)]
        return tuple(each for proof, drift in drifts for each in readings_of(drift, band, only_proof=proof))

    return [_version(saved, readings(saved)) for saved in reversed(ledger.versions(name))]


def ways_json(ledger: Ledger, name: str) -> dict[str, Any]:
    """The way of each parameter through the versions: ``[place of the version, value]`` wherever it moved.

    A parameter that never moved is not there.
    """
    if name not in ledger.recipes():
        return {"versions": 0, "ways": {}}
    trend = ledger.trend(name)
    ways: dict[str, list[list[Any]]] = {}
    for course in trend.courses:
        way: list[list[Any]] = []
        for place, point in enumerate(course.points):
            if not way or way[-1][1] != point.value:
                way.append([place, point.value])
        ways[course.field] = way
    return {"versions": trend.versions, "ways": ways}


def _version(saved: Saved, readings: tuple[Reading, ...]) -> dict[str, Any]:
    distances = [reading.distance for reading in readings if reading.distance is not None]
    distance = max(distances, default=None)
    farthest = next((r for r in readings if r.distance is not None and r.distance == distance), None)
    return {
        "ref": saved.ref,
        "label": saved.ref.partition("@")[2],
        "day": day(when_of(saved.when)),
        "kind": saved.kind,
        "note": saved.note[:_LONGEST_NOTE],
        "words": list(saved.words),
        "parents": list(saved.parents),
        "distance": None if distance is None else round(distance, 3),
        "said": distance_words(distance),
        "verdict": farthest.verdict if farthest else "not judged",
    }
