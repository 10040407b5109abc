"""A softer version of a recipe: the strongest that still has the wanted verdict on every proof."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

from driftline.drift.apportioning import shares
from driftline.drift.checking import Checked, check_frame
from driftline.drift.easing import easable, eased
from driftline.drift.verdict import IN_KEEPING, LEANING, NOT_JUDGED, OVERDONE, strictest
from driftline.errors import UsageError
from driftline.pipeline import Developable
from driftline.recipe import Change, Recipe, differences, identity

ALL, LARGEST = "all", "largest"
VERDICTS = (IN_KEEPING, LEANING)
_STRICTNESS = (IN_KEEPING, LEANING, OVERDONE)
_COARSE = 10  # hundredths of the strength


@dataclass(frozen=True)
class Tempered:
    """A recipe made softer, measured.

    Attributes
    ----------
    recipe
        The softer one; the given one when that was fine already.
    strength
        How much is left of the eased sections, 0 … 1, before rounding.
    sections
        Those that were eased.
    changes
        From the given recipe to the softer one.
    reached
        Whether ``recipe`` has the wanted verdict on every proof that can be judged.
    before, after
        The given recipe and the softer one checked on each proof, in the order of the proofs.
    """

    recipe: Recipe
    wanted: str
    strength: float
    sections: tuple[str, ...]
    changes: tuple[Change, ...]
    reached: bool
    before: tuple[Checked, ...]
    after: tuple[Checked, ...]

    @property
    def already(self) -> bool:
        """Whether the given recipe was fine, so that nothing was eased."""
        return self.reached and not self.changes

    @property
    def verdict(self) -> str:
        """What ``recipe`` has on the proofs, the strictest of them."""
        return _verdict(self.after)

    @property
    def verdict_before(self) -> str:
        """What the given recipe had on the proofs."""
        return _verdict(self.before)

    @property
    def largest_before(self) -> str | None:
        """The cause in which the given recipe stood furthest out on any proof; None when in none."""
        return furthest(self.before)

    def json(self) -> dict[str, Any]:
        """As one JSON object."""
        return {
            "wanted": self.wanted,
            "reached": self.reached,
            "strength": self.strength,
            "sections": list(self.sections),
            "changes": [change.json() for change in self.changes],
            "before": {"verdict": self.verdict_before, "largest": self.largest_before},
            "after": {"verdict": self.verdict, "largest": furthest(self.after)},
        }


def temper(
    frames: Sequence[Developable],
    recipe: Recipe,
    *,
    verdict: str = IN_KEEPING,
    bands: Any = None,
    along: str = ALL,
) -> Tempered:
    """Ease a recipe as little as brings a verdict on all proofs.

    The strength is sought downwards in tenths, then up to the limit by halving, since drift need not be
    monotone; numbers are rounded to what a person would write *before* they are measured, so that what is
    returned has the verdict. Mono, grain, the anchor and a white in kelvin are left alone.

    Parameters
    ----------
    frames
        The proofs. Those that cannot be judged (no camera rendering) are passed over.
    recipe
        The look.
    verdict
        ``in keeping`` or ``leaning``: the strictest that the result may have.
    bands
        As in :func:`~driftline.drift.checking.check_frame`.
    along
        ``all`` eases every section evenly; ``largest`` only those with the largest shares in what is held
        against the recipe, as few as are enough.

    Returns
    -------
    Tempered
        ``reached`` is False when not even strength 0 has the verdict; ``recipe`` is then that at 0.

    Raises
    ------
    UsageError
        ``temper-verdict``, ``temper-along``; ``temper-not-judged``: no proof can be judged.
    FrameError
        A frame cannot be decoded.
    """
    check_words(verdict, along)
    proofs = _judgeable(frames, recipe, bands, verdict)
    before = proofs.checked(recipe)
    if proofs.holds(recipe):
        return Tempered(recipe, verdict, 1.0, (), (), True, before, before)
    sections, hundredths = _strongest(proofs, recipe, along)
    softer = eased(recipe, (hundredths or 0) / 100, sections)
    return Tempered(
        recipe=softer,
        wanted=verdict,
        strength=(hundredths or 0) / 100,
        sections=tuple(sections),
        changes=differences(recipe, softer),
        reached=hundredths is not None,
        before=before,
        after=proofs.checked(softer),
    )


def furthest(checked: Iterable[Checked]) -> str | None:
    """The cause that stands furthest out on any of some frames; None when all stand at 0."""
    causes = (cause for one in checked for cause in one.causes.values() if cause.ratio > 0)
    worst = max(causes, key=lambda cause: cause.ratio, default=None)
    return worst.key if worst else None


@dataclass
class _Proofs:
    """Frames that can be judged, and recipes checked on them; the one that failed last is asked first."""

    frames: list[Developable]
    bands: Any
    allowed: tuple[str, ...]
    found: dict[tuple[int, str], Checked] = field(default_factory=dict)
    order: list[int] = field(default_factory=list)

    def holds(self, recipe: Recipe) -> bool:
        """Whether a recipe has the verdict on every proof."""
        for place, index in enumerate(self.order):
            if self.on(index, recipe).verdict not in self.allowed:
                self.order.insert(0, self.order.pop(place))
                return False
        return True

    def on(self, index: int, recipe: Recipe) -> Checked:
        """A recipe checked on one proof, once."""
        key = index, identity(recipe)
        if key not in self.found:
            self.found[key] = check_frame(self.frames[index], recipe, bands=self.bands)
        return self.found[key]

    def checked(self, recipe: Recipe) -> tuple[Checked, ...]:
        """A recipe checked on all proofs, in their order."""
        return tuple(self.on(index, recipe) for index in range(len(self.frames)))

    def largest(self, recipe: Recipe, sections: Sequence[str]) -> int | None:
        """The largest strength below 1, in hundredths, that has the verdict; None when none has.

        First down in tenths, then up to where it ends.
        """

        def holds(hundredths: int) -> bool:
            return self.holds(eased(recipe, hundredths / 100, sections))

        low = next((n for n in range(100 - _COARSE, -1, -_COARSE) if holds(n)), None)
        if low is None:
            return None
        high = low + _COARSE
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if holds(middle) else (low, middle)
        return low


def _judgeable(frames: Sequence[Developable], recipe: Recipe, bands: Any, verdict: str) -> _Proofs:
    """The proofs that can be judged: as they are, or at least without what can be eased."""
    allowed = _STRICTNESS[: _STRICTNESS.index(verdict) + 1]
    every = _Proofs(list(frames), bands, allowed)
    reasons = []
    for index in range(len(frames)):
        both = (every.on(index, candidate) for candidate in (recipe, eased(recipe, 0.0)))
        last = next((one for one in both if one.verdict != NOT_JUDGED), None)
        if last:
            every.order.append(index)
        else:
            reasons.append(_reason(every.on(index, recipe)))
    if not every.order:
        raise UsageError(
            "temper-not-judged",
            f"no proof can be judged{': ' if reasons else ''}{'; '.join(dict.fromkeys(reasons))}",
            hint="a proof with a camera rendering: --proof FRAME",
        )
    return every


def _reason(checked: Checked) -> str:
    return next((cause.reason for cause in checked.causes.values() if cause.reason), "nothing is compared")


def _strongest(proofs: _Proofs, recipe: Recipe, along: str) -> tuple[tuple[str, ...], int | None]:
    """Which sections to ease, and the largest strength in hundredths; None when none is enough."""
    sections = easable(recipe)
    if along == LARGEST:
        ranked = _ranked(proofs, recipe, sections)
        for several in range(1, len(ranked)):
            few = tuple(section for section in sections if section in ranked[:several])
            if proofs.holds(eased(recipe, 0.0, few)):
                return few, proofs.largest(recipe, few)
    return sections, proofs.largest(recipe, sections)


def _ranked(proofs: _Proofs, recipe: Recipe, sections: Sequence[str]) -> list[str]:
    """The sections that can be eased, largest share first, on the proofs without the verdict."""
    total: dict[str, float] = dict.fromkeys(sections, 0.0)
    for index in proofs.order:
        checked = proofs.on(index, recipe)
        if checked.verdict in proofs.allowed:
            continue
        ranked = shares(proofs.frames[index], recipe, bands=proofs.bands).ranked(checked)
        for section in sections:
            total[section] += ranked.get(section, 0.0)
    return sorted(sections, key=lambda section: -total[section])


def _verdict(checked: Iterable[Checked]) -> str:
    return strictest(one.verdict for one in checked)


def check_words(verdict: str, along: str) -> None:
    """Refuse a verdict or a way that there is not.

    Raises
    ------
    UsageError
        ``temper-verdict``, ``temper-along``.
    """
    if verdict not in VERDICTS:
        raise UsageError(
            "temper-verdict", f"{verdict}: no verdict to temper to", hint=f"one of {', '.join(VERDICTS)}"
        )
    if along not in (ALL, LARGEST):
        raise UsageError("temper-along", f"{along}: no way to temper", hint=f"one of {ALL}, {LARGEST}")
