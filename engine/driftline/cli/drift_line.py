"""The drift of a version in one line, from what is kept with it; nothing heavy is loaded for it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from driftline.cli import say
from driftline.drift.causes import NAMES, amount


def drift_words(drift: Mapping[str, Any]) -> str:
    """The verdict of a version and what it hangs on.

    Examples
    --------
    >>> causes = {"contrast": {"judged": 0.35, "unit": "log2"}}
    >>> drift_words({"verdict": "leaning", "largest": "contrast", "proofs": 2, "causes": causes})
    'leaning on 2 proofs, most of all contrast × 1.27'
    """
    proofs = drift.get("proofs", 0)
    on = f" on {say.count(proofs, 'proof')}" if proofs else ""
    said = f"{drift.get('verdict', 'not measured')}{on}"
    largest = drift.get("largest") or ""
    cause = drift.get("causes", {}).get(largest, {})
    if cause.get("judged") is not None:
        said += f", most of all {cause_name(largest)} {amount(cause['judged'], cause.get('unit', ''))}"
    likenesses = dict.fromkeys(_likenesses(drift))
    return f"{said}; by the likeness {', '.join(likenesses)}" if likenesses else said


def _likenesses(drift: Mapping[str, Any]) -> Iterator[str]:
    """Names of the likenesses that plain was developed with; their digests are for the document."""
    for frame in (drift.get("frames") or {}).values():
        if frame.get("likeness"):
            yield str(frame["likeness"]).split()[0]


def cause_name(key: str) -> str:
    """What a photographer calls a cause of drift."""
    return NAMES.get(key, key.replace("_", " "))
