"""What the pages say of the shoots that looks were used on, and of the stretches of a long history."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby

from driftline.pages.folder import page_name
from driftline.pages.story import Look, Shoot, Story, Version
from driftline.pages.views import version_address
from driftline.pages.wording import count, month, span

LONG = 40
"""A look with more versions is told as a whole before it is told version by version."""


@dataclass(frozen=True)
class Used:
    """One shoot: its name, its days, and how many frames were printed with each version."""

    name: str
    days: str
    frames: str
    versions: tuple[tuple[str, str, str], ...]
    """Ref, address of its page (empty if it has none) and number of prints."""


@dataclass(frozen=True)
class Stretch:
    """A year or a month of a long history, and the version it begins with."""

    name: str
    versions: str
    anchor: str


def used_by_look(story: Story, look: Look) -> tuple[Used, ...]:
    """The shoots that any version of a look was used on."""
    known = _known(story)
    return tuple(_used(shoot, frames, known) for shoot in story.shoots if (frames := shoot.of(look.name)))


def used_by_each(story: Story) -> dict[str, tuple[Used, ...]]:
    """The shoots that each version was used on, by ref; those that were used on none are left out."""
    known = _known(story)
    found: dict[str, tuple[Used, ...]] = {}
    for shoot in story.shoots:
        for ref, number in shoot.frames.items():
            found[ref] = (*found.get(ref, ()), _used(shoot, {ref: number}, known))
    return found


def used_by_all(story: Story, limit: int) -> tuple[Used, ...]:
    """The last shoots, whatever they were printed with."""
    known = _known(story)
    return tuple(_used(shoot, shoot.frames, known) for shoot in story.shoots[:limit])


def _known(story: Story) -> dict[str, Version]:
    return {version.ref: version for look in story.looks for version in look.versions}


def _used(shoot: Shoot, frames: Mapping[str, int], versions: Mapping[str, Version]) -> Used:
    first, last = shoot.between
    unnamed = first if first == last else f"{first} to {last}"
    return Used(
        name=shoot.name or unnamed or "a shoot without a name",
        days="" if shoot.first is None or shoot.last is None else span(shoot.first, shoot.last),
        frames=count(sum(frames.values()), "print"),
        versions=tuple(
            (ref, version_address(versions[ref]) if ref in versions else "", str(number))
            for ref, number in frames.items()
        ),
    )


def stretches(versions: Sequence[Version]) -> tuple[Stretch, ...]:
    """The years of a long history, or its months if it is all of one year; none of a short one."""
    if len(versions) <= LONG:
        return ()
    by_year = len({version.when.year for version in versions}) > 1
    told = []
    for name, group in groupby(versions, key=lambda v: str(v.when.year) if by_year else month(v.when)):
        members = list(group)
        told.append(Stretch(name, count(len(members), "version"), f"v-{page_name(members[0].label)}"))
    return tuple(told)
