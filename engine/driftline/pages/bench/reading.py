"""What is measured of a picture on the bench, as the page shows it: numbers, bands, words, shares."""

from __future__ import annotations

from collections.abc import Mapping
from math import inf
from typing import Any

from driftline.drift import Bands, Checked, CheckedCause, Past, Shares
from driftline.pages.story import Amount, Reading
from driftline.pages.wording import amount_words, cause_name, distance_words, drift_words, number

_WORTH_A_SHARE = 0.05  # notices


def drift_json(checked: Checked, bands: Bands, past: Past) -> dict[str, Any]:
    """A check as the page shows it.

    Returns
    -------
    dict
        ``distance`` in notices (None when nothing was judged) and ``said``, the same in words; ``verdict``;
        ``telling``, the causes that stand farthest out in words; ``causes``, each with its four numbers, its
        two bands, and its words; ``past``, where it went further than nine in ten of the versions before.
    """
    amounts = {key: _amount(cause, bands) for key, cause in checked.causes.items()}
    reading = Reading("", tuple(amounts.values()))
    return {
        "distance": reading.distance,
        "said": distance_words(reading.distance),
        "verdict": checked.verdict,
        "telling": list(drift_words(reading.amounts)),
        "nothing": _nothing(checked),
        "past": past.in_words(checked),
        "causes": [_cause(cause, amounts[key], bands) for key, cause in checked.causes.items()],
    }


def shares_json(found: Shares, checked: Checked) -> dict[str, Any]:
    """Which section moved the picture how far, in notices; and, by cause, the section that moved it most."""
    judged = found.ranked(checked)
    return {
        "distance": found.distance.total,
        "sections": {name: part.share for name, part in found.distance.parts.items()},
        "together": found.distance.interaction,
        "judged": judged,
        "causes": {
            key: {name: part.share for name, part in cause.parts.items()}
            for key, cause in found.causes.items()
        },
        "said": _most(judged, checked.verdict),
    }


def _most(judged: Mapping[str, float], verdict: str) -> str:
    whole = sum(judged.values())
    name = next(iter(judged), None)
    if name is None or judged[name] < _WORTH_A_SHARE or verdict not in ("leaning", "overdone"):
        return ""
    part = judged[name] / whole if whole > 0 else 1.0
    amount = "all" if len(judged) == 1 else "most" if part >= 0.5 else "more than any other"
    return f"{amount} of it by [{name}]"


def _amount(cause: CheckedCause, bands: Bands) -> Amount:
    notice = bands[cause.key].limits(cause.judged or 0.0)[0]
    return Amount(
        key=cause.key,
        unit=cause.unit,
        floor=cause.floor,
        edit=cause.edit,
        total=cause.total,
        judged=cause.judged,
        verdict=cause.verdict,
        ratio=cause.ratio,
        notice=notice if notice < inf else 1.0,
        reason=cause.reason,
    )


def _cause(cause: CheckedCause, amount: Amount, bands: Bands) -> dict[str, Any]:
    up, down = bands[cause.key].limits(1.0), bands[cause.key].limits(-1.0)
    return {
        "key": cause.key,
        "name": cause_name(cause.key),
        "unit": cause.unit,
        "floor": cause.floor,
        "edit": cause.edit,
        "total": cause.total,
        "judged": cause.judged,
        "bands": [_finite(limit) for limit in (*up, *down)],
        "ratio": cause.ratio,
        "verdict": cause.verdict,
        "comparable": cause.comparable,
        "numbers": [number(value, cause.unit) for value in (cause.floor, cause.edit, cause.total)],
        "words": amount_words(amount),
    }


def _finite(limit: float) -> float | None:
    return limit if limit < inf else None


def _nothing(checked: Checked) -> str:
    """Why nothing at all could be compared; empty when something could."""
    if any(cause.comparable for cause in checked.causes.values()):
        return ""
    return next((cause.reason for cause in checked.causes.values() if cause.reason), "nothing is compared")
