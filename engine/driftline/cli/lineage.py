"""``driftline lineage``."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated

import typer

from driftline.cli import say
from driftline.cli.options import Json, LedgerPath, open_ledger

if TYPE_CHECKING:
    from driftline.ledger import Lineage


def lineage(
    recipe: Annotated[
        str | None, typer.Argument(metavar="[R]", help="A recipe's name; absent: all.", show_default=False)
    ] = None,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Draw the family tree of looks, across recipes.

    Oldest first; what came from another recipe is set in below it.
    """
    tree = open_ledger(ledger).lineage(recipe)
    if as_json:
        say.document(tree.json())
        return
    say.lines(drawn(tree))


def drawn(tree: Lineage) -> Iterator[str]:
    """The tree as indented text, oldest first; a version with two parents names the second in words."""
    children: dict[str, list[str]] = {}
    others: dict[str, list[str]] = {}
    first_parent: dict[str, str] = {}
    for edge in tree.edges:
        if edge.child in first_parent:
            others.setdefault(edge.child, []).append(edge.parent)
        else:
            first_parent[edge.child] = edge.parent
            children.setdefault(edge.parent, []).append(edge.child)
    nodes = {node.ref: node for node in tree.nodes}
    waiting = [(node.ref, 0) for node in reversed(tree.nodes) if node.ref not in first_parent]
    while waiting:
        ref, depth = waiting.pop()
        node = nodes[ref]
        second = f" with {', '.join(others[ref])}" if ref in others else ""
        kind = "" if node.kind == "version" else f"  {node.kind}{second}"
        yield f"{'    ' * depth}{ref}  {say.when(node.when)}{kind}"
        inside = [c for c in children.get(ref, []) if nodes[c].recipe == node.recipe]
        beyond = [c for c in children.get(ref, []) if nodes[c].recipe != node.recipe]
        waiting.extend((c, depth) for c in reversed(inside))
        waiting.extend((c, depth + 1) for c in reversed(beyond))
