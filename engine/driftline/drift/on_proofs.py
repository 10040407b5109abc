"""Drift of a recipe over several proofs, as a version keeps it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from driftline.drift.causes import UNITS
from driftline.drift.checking import Checked, CheckedCause, check_frame
from driftline.drift.verdict import largest, strictest
from driftline.pipeline import EDITION, Developable
from driftline.recipe import Recipe


def measure_on(frames: Sequence[Developable], recipe: Recipe, *, bands: Any = None) -> dict[str, Any]:
    """Check a recipe on its proofs.

    Parameters
    ----------
    frames
        The proofs; none gives an empty result.
    recipe
        The look.
    bands
        As in :func:`~driftline.drift.checking.check_frame`.

    Returns
    -------
    dict
        ``verdict``, ``largest``, ``edition``, ``proofs`` (how many), ``causes``: of each cause the four
        numbers on the proof on which it stands furthest out, or the reason why it is comparable on none;
        ``frames``: for each proof by fingerprint its verdict, its largest cause, its likeness if any,
        and ``[floor, edit, total, judged]`` of every comparable cause. Every value is JSON.
    """
    checked = {frame.fingerprint(): check_frame(frame, recipe, bands=bands) for frame in frames}
    if not checked:
        return {}
    ratios = {key: max(one.causes[key].ratio for one in checked.values()) for key in UNITS}
    return {
        "verdict": strictest(one.verdict for one in checked.values()),
        "largest": largest(ratios),
        "edition": EDITION,
        "proofs": len(checked),
        "causes": {key: _worst(key, checked) for key in UNITS},
        "frames": {frame.fingerprint(): _brief(checked[frame.fingerprint()], frame) for frame in frames},
    }


def _brief(one: Checked, frame: Developable) -> dict[str, Any]:
    """One proof in few bytes: every version of ten years holds this."""
    likeness = {"likeness": f"{frame.likeness.name} {frame.likeness.digest()}"} if frame.likeness else {}
    numbers = {key: _four(cause) for key, cause in one.causes.items() if cause.comparable}
    return {"verdict": one.verdict, "largest": one.largest, **likeness, "causes": numbers}


def _four(cause: CheckedCause) -> list[float | None]:
    columns = (cause.floor, cause.edit, cause.total, cause.judged)
    return [None if value is None else round(value, 4) for value in columns]


def _worst(key: str, checked: Mapping[str, Checked]) -> dict[str, Any]:
    """The cause on the proof on which it is furthest out; only a reason when it is comparable on none."""
    name, one = max(checked.items(), key=lambda item: _rank(item[1], key))
    cause = one.causes[key]
    if not cause.comparable:
        return {"reason": cause.reason}
    numbers = dict(zip(("floor", "edit", "total", "judged"), _four(cause), strict=True))
    return {**numbers, "unit": cause.unit, "verdict": cause.verdict, "proof": name[:12]}


def _rank(one: Checked, key: str) -> tuple[bool, float, float]:
    cause = one.causes[key]
    return cause.comparable, cause.ratio, abs(cause.edit or 0.0)
