"""Bands, the judged amount, and the three verdicts: in keeping, leaning, overdone."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from math import inf
from types import MappingProxyType
from typing import Any

from driftline.drift.causes import UNITS, Cause, Drift, ordered
from driftline.errors import UsageError

IN_KEEPING, LEANING, OVERDONE, NOT_JUDGED = "in keeping", "leaning", "overdone", "not judged"
_STRICTNESS = {NOT_JUDGED: -1, IN_KEEPING: 0, LEANING: 1, OVERDONE: 2}


@dataclass(frozen=True)
class Band:
    """The two limits of one cause, upwards and downwards, all as positive amounts in the cause's unit.

    Below ``notice`` an amount is in keeping, from there up to ``over`` leaning, from ``over`` on overdone.
    """

    notice: float
    over: float
    notice_below: float | None = None
    over_below: float | None = None

    def limits(self, amount: float) -> tuple[float, float]:
        """Notice and over on the side of ``amount``."""
        if amount >= 0:
            return self.notice, self.over
        return (
            self.notice if self.notice_below is None else self.notice_below,
            self.over if self.over_below is None else self.over_below,
        )


Bands = Mapping[str, Band]

ONE_SIDED = frozenset({"clip_low", "clip_high"})
"""Causes of which less is no fault."""

DEFAULT_BANDS: Bands = MappingProxyType(
    {
        "exposure": Band(0.17, 0.35),
        "contrast": Band(0.21, 0.42),
        "white": Band(18.0, 40.0),
        "duv": Band(3.0, 6.0),
        "chroma": Band(0.25, 0.50),
        "hue": Band(7.0, 14.0),
        "hue_skin": Band(5.0, 10.0),
        "hue_foliage": Band(7.0, 14.0),
        "hue_sky": Band(7.0, 14.0),
        "split_tint": Band(2.2, 4.6),
        "clip_low": Band(1.5, 4.0, inf, inf),
        "clip_high": Band(1.5, 4.0, inf, inf),
        "detail_fine": Band(0.26, 0.50),
        "detail_middling": Band(0.11, 0.23),
        "detail_broad": Band(0.05, 0.11),
        "residual": Band(2.5, 5.0),
    }
)
"""Where viewers notice (about ΔE00 2) and where it is too much (about twice that), cause by cause."""


@dataclass(frozen=True)
class Judgement:
    """One cause, judged.

    Attributes
    ----------
    judged
        The amount held against the edit: min(abs(edit), abs(total)) with their sign if both have the same,
        else 0. None when there is nothing to judge.
    verdict
        ``in keeping``, ``leaning``, ``overdone`` or ``not judged``.
    ratio
        ``judged`` over its notice band, 0 or more.
    """

    judged: float | None
    verdict: str
    ratio: float


def judge(floor: float | None, edit: float | None, total: float | None, band: Band) -> Judgement:
    """Judge one cause by what the edit pushed, never by the floor alone.

    Parameters
    ----------
    floor, edit, total
        Camera to plain, plain to edit, camera to edit, in the cause's unit. The floor is not held against
        anyone; it is taken so that the three are always given together. Without edit or total there is
        nothing to judge.
    band
        The limits of this cause.

    Examples
    --------
    >>> judge(0.30, 0.20, 0.50, Band(0.17, 0.35))
    Judgement(judged=0.2, verdict='leaning', ratio=1.1764705882352942)
    >>> judge(0.30, -0.20, 0.10, Band(0.17, 0.35)).judged
    0.0
    """
    if edit is None or total is None:
        return Judgement(None, NOT_JUDGED, 0.0)
    if edit * total <= 0:
        return Judgement(0.0, IN_KEEPING, 0.0)
    size = min(abs(edit), abs(total))
    judged = size if edit > 0 else -size
    notice, over = band.limits(judged)
    verdict = OVERDONE if size >= over else LEANING if size >= notice else IN_KEEPING
    return Judgement(judged, verdict, size / notice)


def judge_vector(edit: complex | None, total: complex | None, band: Band) -> Judgement:
    """Judge a cause that has a direction: the smaller of the two sizes if they point the same way.

    The sizes are weighed by the cosine between the two, so that the judged amount does not jump when an
    edit turns against the floor.
    """
    if edit is None or total is None:
        return Judgement(None, NOT_JUDGED, 0.0)
    size = min(abs(edit), abs(total))
    if size == 0:
        return Judgement(0.0, IN_KEEPING, 0.0)
    cosine = (edit * total.conjugate()).real / (abs(edit) * abs(total))
    amount = size * max(cosine, 0.0)
    return judge(0.0, amount, amount, band)


def strictest(verdicts: Iterable[str]) -> str:
    """The strictest of some verdicts; ``not judged`` when there is none.

    Examples
    --------
    >>> strictest(["in keeping", "overdone", "not judged"])
    'overdone'
    """
    return max(verdicts, key=_STRICTNESS.__getitem__, default=NOT_JUDGED)


def largest(ratios: Mapping[str, float]) -> str | None:
    """The cause with the largest amount against its notice band; None when all are 0."""
    key = max(ratios, key=lambda k: ratios[k], default=None)
    return key if key is not None and ratios[key] > 0 else None


def bands_from(settings: Any = None) -> Bands:
    """The default bands with a ledger's settings laid over them.

    Parameters
    ----------
    settings
        A ledger's ``settings().bands``, or a mapping of cause to (notice, over), to (notice, over, notice
        below, over below), or to a :class:`Band`. Causes that are not named keep their default.

    Raises
    ------
    UsageError
        An unknown cause, or limits that are not 0 < notice < over.

    Examples
    --------
    >>> bands_from({"exposure": (0.25, 0.6)})["exposure"]
    Band(notice=0.25, over=0.6, notice_below=None, over_below=None)
    """
    given = settings if isinstance(settings, Mapping) else dict(settings or ())
    bands = dict(DEFAULT_BANDS)
    for key, limits in given.items():
        if key not in UNITS:
            raise UsageError(
                "band-unknown", f"bands.{key}: no such cause of drift", hint=f"one of {', '.join(UNITS)}"
            )
        bands[key] = _band(key, limits)
    return MappingProxyType(bands)


def _band(key: str, given: Any) -> Band:
    band = given if isinstance(given, Band) else None
    if hasattr(given, "for_sign"):  # a ledger's
        band = Band(*given.for_sign(1.0), *given.for_sign(-1.0))
    elif isinstance(given, list | tuple) and len(given) in (2, 4):
        band = Band(*(float(limit) for limit in given))
    sides = [band.limits(1.0), band.limits(-1.0)] if band else []
    if band is None or not all(0 < notice < over or notice == over == inf for notice, over in sides):
        raise UsageError(
            "band-out-of-range",
            f"bands.{key}: {given!r}; expected two limits (or four: up and down) with 0 < notice < over",
            hint=f"the default, {list(DEFAULT_BANDS[key].limits(1.0))}",
        )
    return band


def judge_columns(key: str, floor: Cause, edit: Cause, total: Cause, bands: Bands) -> Judgement:
    """Judge a cause on its three columns, by its own rules.

    Split tint has a direction and is judged along it. Fewer clipped pixels than the camera's are no fault.
    """
    if key == "split_tint":
        return judge_vector(edit.vector, total.vector, bands[key])
    values = [
        c.value if key not in ONE_SIDED or c.value is None else max(c.value, 0.0) for c in (edit, total)
    ]
    return judge(floor.value, values[0], values[1], bands[key])


def judge_alone(drift: Drift, bands: Bands) -> Drift:
    """Judge the drift of two pictures as if the reference were both camera rendering and plain."""
    judged = {}
    for key, cause in drift.causes.items():
        found = Judgement(None, NOT_JUDGED, 0.0)
        if cause.judgeable:
            found = judge_columns(key, cause, cause, cause, bands)
        judged[key] = replace(cause, verdict=found.verdict, ratio=found.ratio)
    return replace(
        drift,
        causes=ordered(judged.values()),
        verdict=strictest(cause.verdict for cause in judged.values()),
        largest=largest({key: cause.ratio for key, cause in judged.items()}),
    )
