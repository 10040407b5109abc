"""The family tree as runs of versions."""

from __future__ import annotations

from driftline.pages import Look, Story
from driftline.pages.pedigree import Run, family
from driftline.pages.views import Branch, branches
from pages.history import story, version


def shape(runs: list[Run]) -> list[object]:
    """Runs as nested lists of refs."""
    return [[[v.ref for v in run.versions], *shape(run.children)] for run in runs]


def test_runs_end_where_the_family_branches() -> None:
    """A straight line of versions is one run; a fork hangs from the version it came from."""
    assert shape(family(story())) == [
        [
            ["tram-fog@1", "tram-fog@2"],
            [["quay-dusk@1"], [["quay-dusk@2.laptop"]]],
            [["tram-fog@3", "tram-fog@4"]],
        ]
    ]


def test_every_version_appears_exactly_once() -> None:
    """Blends and merges too: they hang from their first parent only."""

    def refs(runs: list[Run]) -> list[str]:
        return [ref for run in runs for ref in [*(v.ref for v in run.versions), *refs(run.children)]]

    told = refs(family(story()))
    assert sorted(told) == sorted(v.ref for look in story().looks for v in look.versions)


def test_order_is_ancestry_not_clocks() -> None:
    """A child whose clock ran behind still hangs below its parent."""
    versions = (version("tram-fog@1", 9), version("tram-fog@2", 1, parents=("tram-fog@1",)))
    assert shape(family(Story("t", (Look("tram-fog", "", versions),)))) == [[["tram-fog@1", "tram-fog@2"]]]


def test_unknown_parents_make_a_root() -> None:
    """A version whose parent is not in the ledger begins a family of its own."""
    versions = (version("tram-fog@7", 1, parents=("lost@3",)),)
    assert shape(family(Story("t", (Look("tram-fog", "", versions),)))) == [[["tram-fog@7"]]]


def test_a_ring_of_parents_is_cut() -> None:
    """Damaged parents that form a ring lose their bond, not their versions."""
    versions = (version("a@1", 0, parents=("a@2",)), version("a@2", 1, parents=("a@1",)), version("a@3", 2))
    told = family(Story("t", (Look("a", "", versions),)))
    assert sum(len(run.versions) for run in told) == 3


def test_going_back_to_an_earlier_version_is_no_branch() -> None:
    """A recipe that is restored to an old version goes on in its own line."""
    versions = (
        version("a@1"),
        version("a@2", 1, parents=("a@1",)),
        version("a@3", 2, parents=("a@1",), kind="restore"),
        version("a@4", 3, parents=("a@3",)),
    )
    assert shape(family(Story("t", (Look("a", "", versions),)))) == [[["a@1", "a@2", "a@3", "a@4"]]]


def test_a_very_deep_family_is_still_told() -> None:
    """A thousand forks of forks are all named, the deepest side by side."""
    looks = [Look("a-0", "", (version("a-0@1"),))]
    for number in range(1, 1000):
        fork = version(f"a-{number}@1", number, parents=(f"a-{number - 1}@1",), kind="fork")
        looks.append(Look(f"a-{number}", "", (fork,)))
    told = branches(family(Story("t", tuple(looks))))

    def names(tree: tuple[Branch, ...]) -> list[str]:
        return [name for branch in tree for name in [branch.recipe, *names(branch.children)]]

    assert names(told) == [f"a-{number}" for number in range(1000)]
