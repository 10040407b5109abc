"""Checking a recipe on a frame: floor, edit and total of every cause, and what is held against the edit."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from driftline.drift.anchoring import Anchor, anchor, developed
from driftline.drift.causes import UNITS, Cause, Drift, all_not_comparable, without
from driftline.drift.grid import Light
from driftline.drift.measuring import compare, drift_between
from driftline.drift.registration import Registration
from driftline.drift.rendering import recipe_anchor_ev
from driftline.drift.together import Together
from driftline.drift.verdict import (
    NOT_JUDGED,
    Bands,
    Judgement,
    bands_from,
    judge_alone,
    judge_columns,
    largest,
    strictest,
)
from driftline.drift.views import View, common_mask
from driftline.pipeline import Developable
from driftline.recipe import Recipe


@dataclass(frozen=True)
class CheckedCause:
    """One cause on one frame.

    Attributes
    ----------
    floor, edit, total
        Camera rendering to plain, plain to edit, camera rendering to edit; None when not comparable. Each is
        measured, so that floor and edit add up to the total within what the estimators allow.
    judged
        What is held against the edit; None when nothing is.
    ratio, floor_ratio
        What is judged, and the floor alone, over the notice band.
    vector
        For split tint: which way the total parts light tones from dark ones; see
        :class:`~driftline.drift.causes.Cause`.
    """

    key: str
    floor: float | None
    edit: float | None
    total: float | None
    judged: float | None
    verdict: str
    ratio: float
    comparable: bool
    confident: bool
    reason: str
    floor_ratio: float = 0.0
    vector: complex | None = None

    @property
    def unit(self) -> str:
        """The unit of all four numbers."""
        return UNITS[self.key]

    def json(self) -> dict[str, Any]:
        """As one JSON object; not comparable: the numbers are null."""
        return {
            "floor": self.floor,
            "edit": self.edit,
            "total": self.total,
            "judged": self.judged,
            "unit": self.unit,
            "verdict": self.verdict,
            "comparable": self.comparable,
            "confident": self.confident,
            "reason": self.reason,
        }


@dataclass(frozen=True)
class Checked:
    """A recipe checked on a frame: every cause, the strictest verdict, and the cause that is furthest out."""

    causes: Mapping[str, CheckedCause]
    verdict: str
    largest: str | None
    anchor_ev: float
    registration: Registration
    compared_share: float
    clipped_where: Mapping[str, str] = field(default_factory=dict)

    def json(self) -> dict[str, Any]:
        """As one JSON object."""
        return {
            "verdict": self.verdict,
            "largest": self.largest,
            "anchor_ev": self.anchor_ev,
            "registration": {
                "correlation": round(self.registration.correlation, 4),
                "structure": round(self.registration.structure, 4),
                "k1": round(self.registration.k1, 5),
            },
            "compared_share": round(self.compared_share, 4),
            "causes": {key: cause.json() for key, cause in self.causes.items()},
        }


def check_frame(frame: Developable, recipe: Recipe, *, bands: Any = None) -> Checked:
    """Measure how far a recipe takes a frame from its camera rendering, and judge it.

    Parameters
    ----------
    frame
        From :func:`driftline.open_frame`, or a kept proof.
    recipe
        The look.
    bands
        A ledger's bands, or a mapping of cause to limits; None for the defaults. See
        :func:`~driftline.drift.verdict.bands_from`.

    Returns
    -------
    Checked
        Without a usable camera rendering every cause is not comparable, and says why.

    Raises
    ------
    FrameError
        The frame cannot be decoded.
    """
    return check_picture(frame, edit_of(frame, recipe), bands=bands)


def edit_of(frame: Developable, recipe: Recipe) -> Light:
    """A recipe's rendering of a frame at measuring size, linear sRGB."""
    return developed(frame, recipe_anchor_ev(frame, recipe), anchor(frame).edge, recipe)


def check_picture(
    frame: Developable, edit: Light, *, bands: Any = None, floor: Drift | None = None
) -> Checked:
    """As :func:`check_frame`, of an edit rendered by :func:`edit_of`; with a floor, that is not measured."""
    known = anchor(frame)
    floor, rest, total = _columns(frame, known, edit, floor)
    return _judged(known, floor, rest, total, bands_from(bands))


def between(frame: Developable, before: Recipe, after: Recipe, *, bands: Any = None) -> Drift:
    """Drift between two recipes on one frame, judged as if the second were an edit of the first.

    Raises
    ------
    FrameError
        The frame cannot be decoded.
    """
    A, B = View(edit_of(frame, before)), View(edit_of(frame, after))
    return judge_alone(
        compare(A, B, common_mask((A, B)), names=("the first", "the second")), bands_from(bands)
    )


def floor_of(frame: Developable) -> Drift:
    """Plain against the camera rendering, wherever both are clear of black and white."""
    known = anchor(frame)
    if known.camera is None or known.registration.problem:
        return Drift(all_not_comparable(known.reason))
    floor = drift_between(Together(known.views, common_mask(known.views)), names=_NAMES[0])
    return _without_white(frame, floor)


def _columns(
    frame: Developable, known: Anchor, edit: Light, floor: Drift | None
) -> tuple[Drift, Drift, Drift]:
    """Floor, edit and total, on one grid and under one mask; a floor that is given is taken as it is."""
    if known.camera is None or known.registration.problem:
        nothing = Drift(all_not_comparable(known.reason))
        return nothing, nothing, nothing
    (J, N), E = known.views, known.view_of(edit)
    at = Together((J, N, E), common_mask((J, N, E)))
    pairs = ((0, 1), (1, 2), (0, 2))

    def between(column: int) -> Drift:
        return _without_white(frame, drift_between(at, pairs[column], names=_NAMES[column]))

    return floor or between(0), between(1), between(2)


def _without_white(frame: Developable, drift: Drift) -> Drift:
    """The same drift; where the white of plain is a guess, without what rests on it."""
    if not frame.white_problem:
        return drift
    unknown = dict.fromkeys(("white", "duv"), f"the white of plain is a guess: {frame.white_problem}")
    return Drift(
        without(drift.causes, unknown),
        clipped_where=drift.clipped_where,
        compared_share=drift.compared_share,
    )


_NAMES = (
    ("the camera rendering", "plain"),
    ("plain", "the edit"),
    ("the camera rendering", "the edit"),
)


def _judged(known: Anchor, floor: Drift, edit: Drift, total: Drift, bands: Bands) -> Checked:
    causes = {
        key: _cause(key, floor.causes[key], edit.causes[key], total.causes[key], bands) for key in UNITS
    }
    return Checked(
        causes=causes,
        verdict=strictest(cause.verdict for cause in causes.values()),
        largest=largest({key: cause.ratio for key, cause in causes.items()}),
        anchor_ev=known.ev,
        registration=known.registration,
        compared_share=total.compared_share,
        clipped_where=edit.clipped_where,
    )


def _cause(key: str, floor: Cause, edit: Cause, total: Cause, bands: Bands) -> CheckedCause:
    columns = (total, edit, floor)
    comparable = all(c.comparable for c in columns)
    confident = comparable and all(c.confident for c in columns)
    found = Judgement(None, NOT_JUDGED, 0.0)
    if confident:
        found = judge_columns(key, floor, edit, total, bands)
    return CheckedCause(
        key=key,
        floor=floor.value if comparable else None,
        edit=edit.value if comparable else None,
        total=total.value if comparable else None,
        judged=found.judged,
        verdict=found.verdict,
        ratio=found.ratio,
        comparable=comparable,
        confident=confident,
        reason=next((c.reason for c in columns if c.reason), ""),
        floor_ratio=judge_columns(key, floor, floor, floor, bands).ratio if confident else 0.0,
        vector=total.vector,
    )
