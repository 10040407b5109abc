"""What was measured at a save, as the ledger keeps it, turned into readings by today's bands."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import inf
from typing import Any

from driftline.pages.story import NOT_JUDGED, Amount, Reading

BandOf = Callable[[str, float], tuple[float, float] | None]
"""(cause, amount) -> notice and over on the side of the amount; None for a cause without bands."""


def readings_of(drift: Any, band: BandOf, *, only_proof: str = "") -> tuple[Reading, ...]:
    """What was measured when a version was saved, one reading a proof.

    Parameters
    ----------
    drift
        ``{fingerprint: {"causes": {KEY: {floor, edit, total, judged, unit, …}}}}``, or one such
        ``{"causes": …}`` without a fingerprint; what does not read as that was not written by us, and is
        passed over.
    band
        Notice and over of a cause; distances and verdicts are by these, not by those of the day of the save.
    only_proof
        The fingerprint that drift without one belongs to.
    """
    given = _mapping(drift)
    measured = {only_proof: given} if "causes" in given else given
    return tuple(
        Reading(str(proof), _amounts(_mapping(found.get("causes")), band), _error(found.get("error")))
        for proof, found in measured.items()
        if isinstance(found, Mapping)
    )


def _amounts(causes: Mapping[str, Any], band: BandOf) -> tuple[Amount, ...]:
    return tuple(_amount(str(key), _mapping(given), band) for key, given in causes.items())


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


def _error(value: Any) -> str:
    given = _mapping(value)
    return str(given.get("message") or given.get("reason") or "") if given else str(value or "")
