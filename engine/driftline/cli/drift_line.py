"""The drift of a version in one line, from what is kept with it; nothing heavy is loaded for it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from driftline.cli import say
from driftline.drift.causes import NAMES


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
    verdict = f"{drift.get('verdict', 'not measured')}{on}"
    largest = drift.get("largest") or ""
    cause = drift.get("causes", {}).get(largest, {})
    if cause.get("judged") is None:
        return verdict
    return f"{verdict}, most of all {cause_name(largest)} {amount(cause['judged'], cause.get('unit', ''))}"


def cause_name(key: str) -> str:
    """What a photographer calls a cause of drift."""
    return NAMES.get(key, key.replace("_", " "))


def amount(value: float, unit: str) -> str:
    """A signed amount as it is read.

    Examples
    --------
    >>> amount(0.3, "EV"), amount(-1.0, "log2"), amount(2.5, "deg"), amount(1.2, "points")
    ('+0.30 EV', '× 0.50', '+2.5°', '+1.2 %')
    """
    if unit == "log2":
        return f"× {2**value:.2f}"
    form = _FORMS.get(unit, "{:+.2f} " + unit)
    return form.format(value)


_FORMS = {
    "mired": "{:+.0f} mired",
    "1e-3": "{:+.1f} × 10⁻³ Duv",
    "deg": "{:+.1f}°",
    "100 z": "{:.1f} (100 z)",
    "points": "{:+.1f} %",
    "dE00": "ΔE00 {:.1f}",
}
