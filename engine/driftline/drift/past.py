"""An edit beside the photographer's own past: how many of the last versions went less far the same way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

from driftline.drift.causes import FLOORS, NAMES, UNITS, UNSIGNED, amount
from driftline.drift.words import TELLING

if TYPE_CHECKING:
    from driftline.drift.checking import Checked
    from driftline.ledger import Ledger

LAST = 100
FEWEST = 10
"""Versions below which a place among them says nothing."""


class HasDrift(Protocol):
    """What is asked of a saved version."""

    @property
    def drift(self) -> Mapping[str, Any] | None:
        """What was measured on its proofs when it was saved, as ``measure_on`` gives it."""


@dataclass(frozen=True)
class Place:
    """How many of some versions went less far than this edit, the same way, and how many there were."""

    less: int
    of: int


def past_edits(versions: Iterable[HasDrift], *, last: int = LAST) -> dict[str, tuple[float, ...]]:
    """What the last measured versions did to plain, by cause.

    Parameters
    ----------
    versions
        Newest first, as :meth:`driftline.ledger.Ledger.versions` gives them: of one recipe, or of all.
    last
        How many of them with a measured drift are taken.

    Returns
    -------
    dict
        The edit column on the proof on which the version went furthest; versions in which a cause could
        not be compared are left out of it.
    """
    found: dict[str, list[float]] = {key: [] for key in UNITS}
    measured = [version.drift for version in versions if version.drift and version.drift.get("causes")]
    for drift in measured[:last]:
        for key, cause in drift["causes"].items():
            if key in found and isinstance(cause.get("edit"), int | float):
                found[key].append(float(cause["edit"]))
    return {key: tuple(edits) for key, edits in found.items()}


def place_among(edit: float, past: Sequence[float], *, signed: bool = True) -> Place | None:
    """The place of an edit among past ones: those that went the other way, or less far, went less.

    None when there are fewer than ``FEWEST``.

    Examples
    --------
    >>> place_among(-0.3, [-0.5, -0.1, 0.0, 0.4, -0.2, 0.1, 0.2, 0.9, -0.4, 0.3])
    Place(less=8, of=10)
    """
    if len(past) < FEWEST:
        return None
    along = [one if edit >= 0 or not signed else -one for one in past]
    return Place(sum(one < abs(edit) for one in along), len(along))


def places(checked: Checked, past: Mapping[str, Sequence[float]]) -> dict[str, Place]:
    """The place of every comparable cause of a check among past versions; without a past it is absent."""
    found = {}
    for key, cause in checked.causes.items():
        if cause.edit is not None:
            place = place_among(cause.edit, past.get(key, ()), signed=key not in UNSIGNED)
            if place:
                found[key] = place
    return found


@dataclass(frozen=True)
class Past:
    """What was done before: the edits of the ledger's last versions, and of one recipe's, by cause."""

    recipe: str
    of_ledger: Mapping[str, Sequence[float]]
    of_recipe: Mapping[str, Sequence[float]]

    def json(self, checked: Checked) -> dict[str, dict[str, Any]]:
        """By cause, ``ledger`` and ``recipe``: how many of how many versions went less far; None: too few."""
        found = {"ledger": places(checked, self.of_ledger), "recipe": places(checked, self.of_recipe)}
        return {key: {whose: _json(placed.get(key)) for whose, placed in found.items()} for key in UNITS}

    def in_words(self, checked: Checked) -> list[str]:
        """One line for each of the most telling causes that went further than nine in ten past versions."""
        lines = past_in_words(checked, self.of_ledger)
        told = {line.split(",")[0] for line in lines}
        own = past_in_words(checked, self.of_recipe, whose=f"{self.recipe}'s") if self.recipe else []
        return [*lines, *(line for line in own if line.split(",")[0] not in told)]


def past_of(ledger: Ledger, recipe: str = "", *, but: str = "") -> Past:
    """The past of a ledger and of one recipe in it, from what is kept with each version.

    Parameters
    ----------
    recipe
        Its name; empty, or one of which nothing is saved: the ledger's past alone.
    but
        A version that is left out, since it is what is being looked at: ``tram-fog@7``.
    """
    versions = [version for version in ledger.versions() if version.ref != but]
    own = [version for version in versions if version.recipe == recipe]
    return Past(recipe, past_edits(versions), past_edits(own))


def past_in_words(checked: Checked, past: Mapping[str, Sequence[float]], whose: str = "your") -> list[str]:
    """One line for each of the most telling causes that went further than nine in ten past versions.

    Parameters
    ----------
    whose
        Whose versions they are: ``your``, or ``tram-fog's``.
    """
    found = places(checked, past)
    far = [
        key for key, place in found.items() if place.less >= 0.9 * place.of and _beyond_noise(checked, key)
    ]
    far.sort(key=lambda key: -checked.causes[key].ratio)
    return [
        f"{NAMES[key]} {amount(checked.causes[key].edit or 0.0, UNITS[key])}, "
        f"more than {found[key].less} of {whose} last {found[key].of} versions"
        for key in far[:TELLING]
    ]


def _beyond_noise(checked: Checked, key: str) -> bool:
    cause = checked.causes[key]
    return cause.confident and abs(cause.edit or 0.0) > FLOORS[key]


def _json(place: Place | None) -> dict[str, int] | None:
    return None if place is None else {"less": place.less, "of": place.of}
