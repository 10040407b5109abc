"""What was measured at a save, as the ledger keeps it, turned into readings by today's bands."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from math import inf
from typing import Any

from driftline.pages.story import NOT_JUDGED, Amount, Reading

_COLUMNS = ("floor", "edit", "total", "judged")

BandOf = Callable[[str, float], tuple[float, float] | None]
"""(cause, amount) -> notice and over on the side of the amount; None for a cause without bands."""


def readings_of(drift: Any, band: BandOf, *, only_proof: str = "") -> tuple[Reading, ...]:
    """What was measured when a version was saved, one reading a proof.

    Parameters
    ----------
    drift
        As :func:`driftline.drift.on_proofs.measure_on` gives it: under ``frames``, for each proof by
        fingerprint, ``[floor, edit, total, judged]`` of every comparable cause; under ``causes`` each cause
        with its unit and, where it is comparable on no proof, the reason. ``causes`` alone is one reading.
        What does not read as that was not written by us, and is passed over.
    band
        Notice and over of a cause; distances and verdicts are by these, not by those of the day of the save.
    only_proof
        The fingerprint that ``causes`` alone belong to.
    """
    causes = {str(key): _mapping(cause) for key, cause in _mapping(_mapping(drift).get("causes")).items()}
    frames = _mapping(_mapping(drift).get("frames"))
    if not frames:
        amounts = tuple(_amount(key, cause, band) for key, cause in causes.items())
        return (Reading(only_proof, amounts),) if amounts else ()
    numbers = {str(proof): _mapping(_mapping(frame).get("causes")) for proof, frame in frames.items()}
    if any(numbers.values()) and not all(
        numbers.values()
    ):  # a reason is kept once for all proofs, and may be that of an empty one
        causes = {key: {**cause, "reason": ""} for key, cause in causes.items()}
    return tuple(Reading(proof, tuple(_amounts(its_own, causes, band))) for proof, its_own in numbers.items())


def _amounts(
    numbers: Mapping[str, Any], causes: Mapping[str, Mapping[str, Any]], band: BandOf
) -> Iterator[Amount]:
    """The causes of one proof; one without numbers keeps its reason, if it had none on any proof."""
    for key, cause in causes.items():
        row = numbers.get(key)
        four = dict(zip(_COLUMNS, row, strict=False)) if isinstance(row, Sequence) else {}
        reason = "" if four or cause.get("comparable") else cause.get("reason")
        yield _amount(key, {"unit": cause.get("unit"), "reason": reason, **four}, band)


def _amount(key: str, given: Mapping[str, Any], band: BandOf) -> Amount:
    judged = _number(given.get("judged"))
    verdict, ratio = str(given.get("verdict") or NOT_JUDGED), 0.0
    limits = band(key, judged or 0.0)
    if judged is not None and limits is not None:
        verdict, ratio = _judge(_counted(key, judged), *limits)
    return Amount(
        key=key,
        unit=str(given.get("unit") or ""),
        floor=_number(given.get("floor")),
        edit=_number(given.get("edit")),
        total=_number(given.get("total")),
        judged=judged,
        verdict=verdict,
        ratio=ratio,
        notice=limits[0] if limits is not None and limits[0] < inf else 1.0,
        reason=str(given.get("reason") or ""),
    )


def _counted(key: str, judged: float) -> float:
    """The size that counts: fewer clipped pixels than the camera's are no fault."""
    return 0.0 if key.startswith("clip_") and judged < 0 else abs(judged)


def _judge(size: float, notice: float, over: float) -> tuple[str, float]:
    verdict = "overdone" if size >= over else "leaning" if size >= notice else "in keeping"
    return verdict, size / notice


def _number(value: Any) -> float | None:
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _mapping(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}
