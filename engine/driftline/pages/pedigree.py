"""The family tree of all looks, as runs of versions that hang from one another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from graphlib import CycleError, TopologicalSorter

from driftline.pages.story import Story, Version

# A recipe that goes back to one of its own versions, or is softened, goes on in its line; it does not branch.
_SAME_LINE = {"restore", "temper"}


@dataclass
class Run:
    """Versions that follow one another without a branch, and the runs that come out of its last one."""

    versions: list[Version]
    children: list[Run] = field(default_factory=list)

    @property
    def first(self) -> Version:
        """Its oldest version."""
        return self.versions[0]

    @property
    def last(self) -> Version:
        """Its newest version."""
        return self.versions[-1]


def family(story: Story) -> list[Run]:
    """The runs that have no ancestor, each with its descendants; oldest first everywhere.

    A version hangs from its first known parent; further parents (a blend, two copies brought together) are
    named by its words. A run ends where more than one version hangs from its last one, where another recipe
    begins, and where a version has more than one parent.
    """
    parents = _parents(story)
    versions = _in_order(story, parents)
    heirs: dict[str, int] = {}
    for ref in parents.values():
        heirs[ref] = heirs.get(ref, 0) + 1
    roots: list[Run] = []
    runs: dict[str, Run] = {}
    for version in versions:
        above = runs.get(parents.get(version.ref, ""))
        if above is not None and heirs[above.last.ref] == 1 and _continues(version, above.last):
            above.versions.append(version)
            runs[version.ref] = above
        else:
            runs[version.ref] = Run([version])
            (roots if above is None else above.children).append(runs[version.ref])
    return roots


def _continues(version: Version, last: Version) -> bool:
    return version.recipe == last.recipe and len(version.parents) <= 1


def _parents(story: Story) -> dict[str, str]:
    """The one version that each hangs from, for those that hang from one."""
    known = {version.ref for look in story.looks for version in look.versions}
    hanging: dict[str, str] = {}
    for look in story.looks:
        before = ""
        for version in look.versions:
            above = next((ref for ref in version.parents if ref in known and ref != version.ref), "")
            if version.kind in _SAME_LINE and above.partition("@")[0] == version.recipe:
                above = before or above
            if above:
                hanging[version.ref] = above
            before = version.ref
    return hanging


def _in_order(story: Story, parents: Mapping[str, str]) -> list[Version]:
    """Every version after the one it hangs from, otherwise by time; a ring of parents by time alone."""
    by_time = sorted((v for look in story.looks for v in look.versions), key=lambda v: (v.when, v.ref))
    sorter = TopologicalSorter({v.ref: [parents[v.ref]] if v.ref in parents else [] for v in by_time})
    try:
        sorter.prepare()
    except CycleError:
        return by_time
    versions, rank = {v.ref: v for v in by_time}, {v.ref: place for place, v in enumerate(by_time)}
    ordered: list[Version] = []
    while sorter.is_active():
        ready = sorted(sorter.get_ready(), key=rank.__getitem__)
        ordered += [versions[ref] for ref in ready]
        sorter.done(*ready)
    return ordered
