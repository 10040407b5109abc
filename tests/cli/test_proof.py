"""``proof``: choosing the frames a recipe is judged by."""

from __future__ import annotations

from pathlib import Path

from cli.conftest import Cli
from driftline.ledger import Ledger


def test_proofs_are_kept_and_listed(cli: Cli, looks: Path) -> None:
    """New proofs stand beside those there are; the document lists all of them."""
    told = cli("proof", "tram-fog", "shoot/quay-02.dng", "--ledger", looks, "--json")
    assert [proof["name"] for proof in told.json["proofs"]] == ["noon.dng", "quay-02.dng"]
    fingerprints = tuple(proof["fingerprint"] for proof in told.json["proofs"])
    assert Ledger.open(looks).proofs("tram-fog") == fingerprints


def test_a_bad_frame_is_listed_and_the_good_one_kept(cli: Cli, looks: Path) -> None:
    """Status 1; the document names frame, code and reason."""
    (looks.parent / "text.dng").write_text("x")
    told = cli("proof", "quay-night", "text.dng", "shoot/quay-02.dng", "--ledger", looks, "--json")
    assert (told.status, len(told.json["proofs"]), len(told.json["failed"])) == (1, 1, 1)
    assert set(told.json["failed"][0]) >= {"frame", "code", "reason"}


def test_a_recipe_that_is_not_there_is_refused_first(cli: Cli, looks: Path) -> None:
    """Nothing is decoded or kept for a name that means nothing."""
    told = cli("proof", "harbour", "shoot/quay-02.dng", "--ledger", looks)
    assert (told.status, "no-such-recipe" in told.err) == (2, True)
    assert len(Ledger.open(looks).kept_proofs()) == 1
