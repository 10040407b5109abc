"""Which section of a recipe moved the picture how far, so that shares and interaction add up to the total."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from math import inf, sqrt
from typing import Any

from driftline.drift.anchoring import anchor
from driftline.drift.causes import UNITS, Cause, Drift
from driftline.drift.checking import Checked, edit_of
from driftline.drift.measuring import drift_between
from driftline.drift.together import Together
from driftline.drift.verdict import Bands, bands_from
from driftline.drift.views import View, common_mask
from driftline.pipeline import Developable
from driftline.recipe import NEUTRAL, Recipe, differences

Sections = frozenset[str]
_NAMES = ("plain", "the edit")

Pause = Callable[[], None]


def no_pause() -> None:
    """Go on."""


@dataclass(frozen=True)
class Part:
    """What one section has in a cause.

    Attributes
    ----------
    alone
        What the section does to plain when nothing else is in the recipe.
    left_out
        What is gone when the section is left out of the recipe.
    share
        The mean of the two.
    """

    alone: float
    left_out: float

    @property
    def share(self) -> float:
        """Half of what it does alone and half of what is gone without it."""
        return (self.alone + self.left_out) / 2

    def json(self) -> dict[str, float]:
        """As one JSON object."""
        return {"alone": self.alone, "left_out": self.left_out, "share": self.share}


@dataclass(frozen=True)
class Apportioned:
    """One amount, plain to edit, and what each section has in it.

    ``total`` is the sum of all shares and of ``interaction``: what sections do together that none does by
    itself. With one section the share is the total; with two the shares are, and nothing is left over.
    """

    unit: str
    total: float
    parts: Mapping[str, Part]

    @property
    def interaction(self) -> float:
        """The total less all shares."""
        return self.total - sum(part.share for part in self.parts.values())

    def json(self) -> dict[str, Any]:
        """As one JSON object."""
        return {
            "total": self.total,
            "unit": self.unit,
            "sections": {section: part.json() for section, part in self.parts.items()},
            "interaction": self.interaction,
        }


@dataclass(frozen=True)
class Shares:
    """How far each section of a recipe moved a frame away from plain.

    Attributes
    ----------
    sections
        Those that are not neutral, in the order of the recipe.
    causes
        By cause: its amount from plain to edit, and the sections' parts in it. Split tint, which has a
        direction, is taken along the direction of its total.
    distance
        The headline: the root of the sum of squares of all causes, each over its notice band. A section's
        part is taken along the total (each cause weighed by how far it is out), so that parts add up here
        as they do in the causes; one that brings the picture back has a negative share.
    aside
        Causes without shares, and why: what cannot be compared with every section left out.
    """

    sections: tuple[str, ...]
    causes: Mapping[str, Apportioned]
    distance: Apportioned
    aside: Mapping[str, str] = field(default_factory=dict)

    def ranked(self, checked: Checked | None = None) -> dict[str, float]:
        """The sections' shares, largest first.

        Parameters
        ----------
        checked
            The recipe checked on the frame: shares are then taken along what was held against the edit,
            and what brought the picture towards the camera rendering does not count. Absent: along the
            distance from plain.
        """
        weights = _judged_weights(checked) if checked else None
        found = {
            section: part.share if weights is None else self._along(weights, section)
            for section, part in self.distance.parts.items()
        }
        return dict(sorted(found.items(), key=lambda item: -item[1]))

    def _along(self, weights: Mapping[str, float], section: str) -> float:
        return sum(
            weight * self.causes[key].parts[section].share
            for key, weight in weights.items()
            if key in self.causes
        )

    def json(self) -> dict[str, Any]:
        """As one JSON object."""
        return {
            "sections": list(self.sections),
            "distance": self.distance.json(),
            "causes": {key: cause.json() for key, cause in self.causes.items()},
            "aside": dict(self.aside),
        }


def shares(frame: Developable, recipe: Recipe, *, bands: Any = None, pause: Pause = no_pause) -> Shares:
    """Leave each section of a recipe out, and take each in alone.

    Parameters
    ----------
    frame
        From :func:`driftline.open_frame`, or a kept proof; it needs no camera rendering.
    recipe
        The look.
    bands
        As in :func:`~driftline.drift.checking.check_frame`.
    pause
        Called before each development; what it raises ends the work.

    Returns
    -------
    Shares
        For n sections the frame is developed 2 n + 1 times at measuring size (once for one section, three
        times for two).

    Raises
    ------
    FrameError
        The frame cannot be decoded.
    """
    sections = sections_of(recipe)
    everything = frozenset(sections)
    drifts = _measured(frame, recipe, _subsets(everything), pause)
    aside = _aside(drifts, frame.white_problem)
    causes = {key: _apportioned(key, drifts, sections) for key in UNITS if key not in aside}
    sure = [key for key in causes if drifts[everything].causes[key].confident]
    return Shares(sections, causes, _distance(causes, sure, sections, bands_from(bands)), aside)


def sections_of(recipe: Recipe) -> tuple[str, ...]:
    """The sections of a recipe that are not neutral, in the order of the format.

    Examples
    --------
    >>> from driftline.recipe import Curve, Finish
    >>> sections_of(Recipe(finish=Finish(acutance=0.2), curve=Curve(slope=1.1)))
    ('curve', 'finish')
    """
    return tuple(dict.fromkeys(change.field.partition(".")[0] for change in differences(NEUTRAL, recipe)))


def keeping(recipe: Recipe, sections: Iterable[str]) -> Recipe:
    """The recipe with these sections and no others.

    Examples
    --------
    >>> from driftline.recipe import Curve, Finish
    >>> sections_of(keeping(Recipe(finish=Finish(acutance=0.2), curve=Curve(slope=1.1)), ["curve"]))
    ('curve',)
    """
    out = set(sections_of(recipe)) - set(sections)
    return recipe.model_copy(update={section: getattr(NEUTRAL, section) for section in out})


def _subsets(everything: Sections) -> set[Sections]:
    """The whole recipe, each section alone, and each left out."""
    alone = {frozenset([section]) for section in everything}
    return {everything, *alone, *(everything - one for one in alone)}


def _measured(
    frame: Developable, recipe: Recipe, subsets: Iterable[Sections], pause: Pause
) -> dict[Sections, Drift]:
    """Drift from plain of the recipe with some of its sections, all on one grid.

    Each is compared where it, plain, the whole recipe and the camera rendering are clear of black and white,
    so that the whole recipe reads what the edit column of a check reads.
    """
    known, everything = anchor(frame), frozenset(sections_of(recipe))
    alone = known.camera is None or bool(known.registration.problem)
    fixed = (View(known.plain),) if alone else known.views
    lay, plain = (View if alone else known.view_of), fixed[-1]
    edits = {}
    for kept in subsets:
        pause()
        edits[kept] = lay(edit_of(frame, keeping(recipe, kept))) if kept else plain
    mask = common_mask([*fixed, edits[everything]])
    pair = len(fixed) - 1, len(fixed)
    return {
        kept: drift_between(Together((*fixed, edit), mask & edit.inside), pair, names=_NAMES)
        for kept, edit in edits.items()
    }


def _aside(drifts: Mapping[Sections, Drift], white_problem: str) -> dict[str, str]:
    """Causes that one of the renderings cannot be compared in, and why."""
    reasons: dict[str, str] = {}
    for drift in drifts.values():
        for key, cause in drift.causes.items():
            if not cause.comparable:
                reasons.setdefault(key, cause.reason)
    if white_problem:
        guess = f"the white of plain is a guess: {white_problem}"
        reasons |= dict.fromkeys(("white", "duv"), guess)
    return {key: reasons[key] for key in UNITS if key in reasons}


def _apportioned(key: str, drifts: Mapping[Sections, Drift], sections: tuple[str, ...]) -> Apportioned:
    everything = frozenset(sections)
    direction = _direction(drifts[everything].causes[key])
    read = {kept: _amount(drift.causes[key], direction) if kept else 0.0 for kept, drift in drifts.items()}
    total = read[everything]
    parts = {
        section: Part(read[frozenset([section])], total - read[everything - {section}])
        for section in sections
    }
    return Apportioned(UNITS[key], total, parts)


def _direction(total: Cause) -> complex | None:
    """Where the total of a cause with a direction points, as a complex number of size 1; None for others."""
    if total.vector is None:
        return None
    return total.vector / abs(total.vector) if total.vector else 0j


def _amount(cause: Cause, direction: complex | None) -> float:
    if direction is None or cause.vector is None:
        return cause.value or 0.0
    return (cause.vector * direction.conjugate()).real


def _distance(
    causes: Mapping[str, Apportioned], sure: Iterable[str], sections: tuple[str, ...], bands: Bands
) -> Apportioned:
    """All causes as one distance in notice bands, and the sections' parts along it."""
    notice = {key: bands[key].limits(causes[key].total)[0] for key in sure}
    total = sqrt(sum((causes[key].total / band) ** 2 for key, band in notice.items()))
    weights = {key: causes[key].total / band**2 / total for key, band in notice.items()} if total else {}
    parts = {
        section: Part(
            sum(weight * causes[key].parts[section].alone for key, weight in weights.items()),
            sum(weight * causes[key].parts[section].left_out for key, weight in weights.items()),
        )
        for section in sections
    }
    return Apportioned("x notice", total, parts)


def _judged_weights(checked: Checked) -> dict[str, float]:
    """What each cause counts for in the distance that is held against an edit, in 1 over its unit."""
    judged = {key: cause for key, cause in checked.causes.items() if cause.judged and cause.ratio}
    distance = sqrt(sum(cause.ratio**2 for cause in judged.values()))
    return {key: cause.ratio**2 / (cause.judged or inf) / distance for key, cause in judged.items()}
