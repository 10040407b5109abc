"""The family of a look: which version came from which, across recipes, forks and blends."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from driftline.ledger.versions import Version


class Node(NamedTuple):
    """One version in the family tree."""

    ref: str
    recipe: str
    kind: str
    when: str
    note: str


class Edge(NamedTuple):
    """From a version to one that came from it."""

    parent: str
    child: str
    kind: str


@dataclass(frozen=True)
class Lineage:
    """A family tree: nodes oldest first, every parent before its children."""

    nodes: tuple[Node, ...]
    edges: tuple[Edge, ...]

    def json(self) -> dict[str, Any]:
        """The tree as ``lineage --json`` gives it."""
        return {
            "nodes": [node._asdict() for node in self.nodes],
            "edges": [{"from": e.parent, "to": e.child, "kind": e.kind} for e in self.edges],
        }


def lineage_of(versions: Sequence[Version], recipe: str | None = None) -> Lineage:
    """The family tree of all versions, or of one recipe with all its relatives.

    Parameters
    ----------
    versions
        Newest first, as the history gives them.
    recipe
        Limits the tree to recipes that are related to this one, directly or through others.
    """
    kept = versions if recipe is None else _relatives(versions, recipe)
    refs = {version.ref for version in kept}
    oldest_first = list(reversed(kept))
    nodes = tuple(Node(v.ref, v.recipe, v.kind, v.when, v.note) for v in oldest_first)
    edges = tuple(Edge(parent, v.ref, v.kind) for v in oldest_first for parent in v.parents if parent in refs)
    return Lineage(nodes, edges)


def _relatives(versions: Iterable[Version], recipe: str) -> list[Version]:
    everyone = list(versions)
    related: dict[str, set[str]] = {}
    for version in everyone:
        for parent in version.parents:
            other = parent.partition("@")[0]
            related.setdefault(version.recipe, set()).add(other)
            related.setdefault(other, set()).add(version.recipe)
    family, waiting = {recipe}, [recipe]
    while waiting:
        for other in related.get(waiting.pop(), set()) - family:
            family.add(other)
            waiting.append(other)
    return [version for version in everyone if version.recipe in family]
