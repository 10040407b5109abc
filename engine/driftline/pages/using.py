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
    """Ref, address of its page (empty if it has none) and number of frames in words."""


@dataclass(frozen=True)
class Stretch:
    """A year or a month of a long history, and the version it begins with."""

    name: str
    versions: str
    anchor: str


def used_on(story: Story, frames_of: Mapping[int, Mapping[str, int]]) -> tuple[Used, ...]:
    """Shoots by their place in the story, each with those of its versions that are told of."""
    versions = {version.ref: version for look in story.looks for version in look.versions}
    return tuple(
        _used(story.shoots[place], frames, versions) for place, frames in frames_of.items() if frames
    )


def used_by_look(story: Story, look: Look) -> tuple[Used, ...]:
    """The shoots that any version of a look was used on."""
    return used_on(story, {place: shoot.of(look.name) for place, shoot in enumerate(story.shoots)})


def used_by_version(story: Story, version: Version) -> tuple[Used, ...]:
    """The shoots that a version was used on."""
    told = {
        place: {version.ref: n}
        for place, shoot in enumerate(story.shoots)
        if (n := shoot.frames.get(version.ref))
    }
    return used_on(story, told)


def used_by_all(story: Story, limit: int) -> tuple[Used, ...]:
    """The last shoots, whatever they were printed with."""
    return used_on(story, {place: shoot.frames for place, shoot in enumerate(story.shoots[:limit])})


def _used(shoot: Shoot, frames: Mapping[str, int], versions: Mapping[str, Version]) -> Used:
    first, last = shoot.between
    unnamed = first if first == last else f"{first} to {last}"
    return Used(
        name=shoot.name or unnamed or "a shoot without a name",
        days="" if shoot.first is None or shoot.last is None else span(shoot.first, shoot.last),
        frames=count(sum(frames.values()), "print"),
        versions=tuple(
            (ref, version_address(versions[ref]) if ref in versions else "", count(number, "print"))
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
