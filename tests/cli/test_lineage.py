"""``lineage``: the family tree across recipes."""

from __future__ import annotations

from pathlib import Path

from cli.conftest import Cli


def test_nodes_and_edges(cli: Cli, looks: Path) -> None:
    """The document holds all relatives, every parent before its children."""
    told = cli("lineage", "fog-at-dusk", "--ledger", looks, "--json").json
    assert told["nodes"][0]["ref"] == "tram-fog@1"
    assert {(edge["from"], edge["to"]) for edge in told["edges"]} == {
        ("tram-fog@1", "tram-fog@2"),
        ("tram-fog@2", "tram-fog@3"),
        ("tram-fog@2", "fog-at-dusk@1"),
    }


def test_the_tree_sets_in_what_came_from_elsewhere(cli: Cli, looks: Path) -> None:
    """A fork stands below its parent, set in; a blend names its other parent."""
    cli("blend", "fog-at-dusk", "quay-night", "dusk-quay", "--weight", "0.5", "--ledger", looks)
    lines = cli("lineage", "--ledger", looks).out.splitlines()
    fork = next(line for line in lines if "fog-at-dusk@1" in line)
    blend = next(line for line in lines if "dusk-quay@1" in line)
    assert fork.startswith("    fog-at-dusk@1")
    assert blend.startswith("        dusk-quay@1")
    assert blend.endswith("blend with quay-night@1")
