"""An edit beside the photographer's own past: how many of the last versions went less far the same way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Protocol

from driftline.drift.causes import NAMES, UNITS, UNSIGNED
from driftline.drift.words import TELLING

if TYPE_CHECKING:
    from driftline.drift.checking import Checked

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


def past_in_words(checked: Checked, past: Mapping[str, Sequence[float]], whose: str = "your") -> list[str]:
    """One line for each of the most telling causes that went further than nine in ten past versions.

    Parameters
    ----------
    whose
        Whose versions they are: ``your``, or ``tram-fog's``.
    """
    found = places(checked, past)
    far = [key for key, place in found.items() if place.less >= 0.9 * place.of and checked.causes[key].edit]
    far.sort(key=lambda key: -checked.causes[key].ratio)
    return [f"{_amount(checked, key)}: more than {_place(found[key], whose)}" for key in far[:TELLING]]


def _amount(checked: Checked, key: str) -> str:
    cause = checked.causes[key]
    return f"{NAMES[key]} {cause.edit:+.2f} {cause.unit}"


def _place(place: Place, whose: str) -> str:
    return f"{place.less} of {whose} last {place.of} versions"
