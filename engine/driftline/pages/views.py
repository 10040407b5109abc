"""What the templates are given: each version with its place in the field, each cause with its marks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil

from driftline.pages.folder import PageFolder, Shown, page_name
from driftline.pages.pedigree import Run
from driftline.pages.story import Amount, Look, Marks, Print, Proof, Reading, Story, Version
from driftline.pages.wording import (
    amount_words,
    apart_words,
    cause_name,
    count,
    day,
    distance_words,
    drift_words,
    later_words,
    number,
    origin_words,
    span,
)

Draw = Callable[[Marks], str]
"""Draws a difference map."""

DEEPEST = 24  # levels of the family tree that are set in from one another
FARTHEST = 4.0  # in notices: what stands beyond is drawn at the edge, and said
_HALF_WIDTH, _NOTICE_WIDTH = 120.0, 36.0  # of a cause's drawing


@dataclass(frozen=True)
class Stand:
    """One version in the field: ``place`` notices from the plumb line, its thread coming from ``before``."""

    version: Version
    title: str
    address: str
    anchor: str
    place: float | None
    before: float | None
    beyond: bool
    picture: Shown
    day: str
    distance: str
    drift: tuple[str, ...]
    origin: str
    proof: str
    later: bool
    camera: Shown


@dataclass(frozen=True)
class Line:
    """One cause on a version's page: its numbers as texts, its marks as x in a drawing 240 wide."""

    name: str
    words: str
    floor: str
    edit: str
    total: str
    judged: str
    verdict: str
    x_floor: float
    x_total: float
    shown: bool
    head: bool


@dataclass(frozen=True)
class Pair:
    """One proof of a version: the camera rendering on the line, the version at its distance."""

    name: str
    camera: Shown
    edited: Shown
    map: Shown
    place: float | None
    distance: str
    verdict: str
    later: str
    lines: tuple[Line, ...]
    apart: tuple[str, ...]


@dataclass(frozen=True)
class Branch:
    """One run of the family tree in words."""

    recipe: str
    labels: str
    days: str
    origin: str
    address: str
    last: str
    children: tuple[Branch, ...]


@dataclass(frozen=True)
class Made:
    """One print."""

    name: str
    said: str
    ref: str
    address: str
    picture: Shown


def look_address(name: str) -> str:
    """Where a look's page lies."""
    return f"looks/{page_name(name)}.html"


def version_address(version: Version) -> str:
    """Where a version's page lies."""
    return f"looks/{page_name(version.recipe)}/{page_name(version.label)}.html"


def recipe_address(version: Version) -> str:
    """Where a version's recipe file lies."""
    name = f"{page_name(version.recipe)}.{page_name(version.label)}.toml"
    return f"looks/{page_name(version.recipe)}/{name}"


def reach(versions: Sequence[Version]) -> int:
    """How many notices wide a field has to be: at least 2, at most :data:`FARTHEST`."""
    farthest = max((version.distance or 0.0 for version in versions), default=0.0)
    return int(min(max(ceil(farthest), 2), FARTHEST))


def stands(versions: Sequence[Version], story: Story, folder: PageFolder) -> tuple[Stand, ...]:
    """Versions of one look as they stand in its field, oldest first, tied by their thread."""
    placed: list[Stand] = []
    before: float | None = None
    usual = next((v.farthest.proof for v in reversed(versions) if v.farthest is not None), "")
    for version in versions:
        stand = _stand(version, version.ref, version_address(version), before, story, folder, usual)
        before = stand.place if stand.place is not None else before
        placed.append(stand)
    return tuple(placed)


def standing_now(story: Story, folder: PageFolder) -> tuple[Stand, ...]:
    """The last version of every measured look, in the order in which they were saved."""
    measured = sorted(
        (look.last for look in story.looks if look.last.distance is not None), key=lambda v: v.when
    )
    return tuple(_stand(v, v.recipe, look_address(v.recipe), None, story, folder) for v in measured)


def _stand(
    version: Version,
    title: str,
    address: str,
    before: float | None,
    story: Story,
    folder: PageFolder,
    usual: str = "",
) -> Stand:
    reading, distance = version.farthest, version.distance
    proof = (
        reading.proof if reading else usual if usual in version.pictures else next(iter(version.pictures), "")
    )
    judged_on = _proof(story, proof)
    return Stand(
        version=version,
        title=title,
        address=address,
        anchor=f"v-{page_name(version.label)}",
        place=None if distance is None else round(min(distance, FARTHEST), 3),
        before=before,
        beyond=distance is not None and distance > FARTHEST,
        picture=folder.show(version.pictures.get(proof)),
        day=day(version.when),
        distance=distance_words(distance),
        drift=drift_words(reading.amounts) if reading else (),
        origin=origin_words(version),
        proof=judged_on.name if proof else "",
        later=reading is not None and reading.later is not None,
        camera=folder.show(judged_on.camera, judged_on.reason),
    )


def pairs(version: Version, story: Story, folder: PageFolder, draw: Draw) -> tuple[Pair, ...]:
    """Every proof of a version beside its camera rendering; measured ones first, farthest first."""
    readings = {reading.proof: reading for reading in version.readings}
    order = sorted(readings.values(), key=lambda r: -1.0 if r.distance is None else r.distance, reverse=True)
    names = list(dict.fromkeys([*(reading.proof for reading in order), *version.pictures]))
    return tuple(_pair(readings.get(name, Reading(name)), version, story, folder, draw) for name in names)


def _pair(reading: Reading, version: Version, story: Story, folder: PageFolder, draw: Draw) -> Pair:
    name = reading.proof
    proof, found = _proof(story, name), version.maps.get(name)
    return Pair(
        name=proof.name,
        camera=folder.show(proof.camera, proof.reason or "no camera rendering was kept"),
        edited=folder.show(version.pictures.get(name)),
        map=Shown() if found is None else folder.map(found, draw),
        place=None if reading.distance is None else round(min(reading.distance, FARTHEST), 3),
        distance=distance_words(reading.distance),
        verdict=reading.verdict,
        later=later_words(reading.later),
        lines=tuple(_line(amount) for amount in reading.amounts if amount.comparable),
        apart=apart_words(reading.amounts),
    )


def _line(amount: Amount) -> Line:
    def x(value: float | None) -> float:
        notices = (value or 0.0) / amount.notice
        return round(_HALF_WIDTH + _NOTICE_WIDTH * max(-3.2, min(3.2, notices)), 1)

    return Line(
        name=cause_name(amount.key),
        words=amount_words(amount),
        floor=number(amount.floor, amount.unit),
        edit=number(amount.edit, amount.unit),
        total=number(amount.total, amount.unit),
        judged="not judged" if amount.judged is None else number(amount.judged, amount.unit),
        verdict=amount.verdict,
        x_floor=x(amount.floor),
        x_total=x(amount.total),
        shown=amount.floor is not None and amount.total is not None,
        head=abs(x(amount.total) - x(amount.floor)) >= 8.0,
    )


def branches(runs: Sequence[Run], level: int = 0) -> tuple[Branch, ...]:
    """The family tree in words; beyond :data:`DEEPEST` levels the descendants are told side by side."""
    if level < DEEPEST:
        return tuple(_branch(run, branches(run.children, level + 1)) for run in runs)
    told: list[Branch] = []
    waiting = list(runs)
    while waiting:
        run = waiting.pop(0)
        told.append(_branch(run, ()))
        waiting += run.children
    return tuple(told)


def is_single(run: Run) -> bool:
    """Whether nothing has come of a look yet but its first version."""
    return len(run.versions) == 1 and not run.children


def _branch(run: Run, children: tuple[Branch, ...]) -> Branch:
    first, last = run.first, run.last
    stand = distance_words(last.distance) + ("" if last.distance is None else f", {last.verdict}")
    return Branch(
        recipe=first.recipe,
        labels=f"@{first.label}" if first is last else f"@{first.label} to @{last.label}",
        days=span(first.when, last.when),
        origin=origin_words(first),
        address=look_address(first.recipe),
        last=stand,
        children=children,
    )


def made(prints: Sequence[Print], story: Story, folder: PageFolder) -> tuple[Made, ...]:
    """The prints, each with the version it was made with."""
    versions = {version.ref: version for look in story.looks for version in look.versions}
    return tuple(
        Made(
            name=item.name,
            said=f"{item.frame}, {item.verdict}" if item.verdict else item.frame,
            ref=item.ref,
            address=version_address(versions[item.ref]) if item.ref in versions else "",
            picture=folder.show(item.picture),
        )
        for item in prints
    )


def summary(look: Look) -> str:
    """A look in one sentence: how many versions, over which days, where it stands now."""
    versions = count(len(look.versions), "version")
    days = span(look.versions[0].when, look.last.when)
    if look.last.distance is None:
        return f"{versions}, {days}. The last one was not measured: no proof was chosen."
    return f"{versions}, {days}. It now stands {distance_words(look.last.distance)}: {look.last.verdict}."


def _proof(story: Story, fingerprint: str) -> Proof:
    found = (proof for proof in story.proofs if proof.fingerprint == fingerprint)
    return next(found, Proof(fingerprint, f"frame {fingerprint[:12]}"))
