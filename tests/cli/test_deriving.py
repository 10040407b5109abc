"""``fork``, ``restore`` and ``blend``: versions that come from others, with their drift and lineage."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cli.conftest import QUAY, TRAM_FOG, Cli
from driftline.ledger import Ledger

KEYS = {"recipe", "version", "ref", "parents", "changes"}


def test_a_fork_keeps_parent_drift_and_proofs(cli: Cli, looks: Path) -> None:
    """The look is the same, so the drift is; from here on the same proofs judge it; comments stay."""
    told = cli("fork", "tram-fog@2", "low-sun", "--note", "evenings", "--ledger", looks, "--json").json
    assert told.keys() >= KEYS
    assert (told["ref"], told["parents"], told["changes"]) == ("low-sun@1", ["tram-fog@2"], [])
    ledger = Ledger.open(looks)
    assert told["drift"] == dict(ledger.version("tram-fog@2").drift or {}) != {}
    assert ledger.proofs("low-sun") == ledger.proofs("tram-fog") != ()
    assert "# a third of a stop" in ledger.text("low-sun@1")
    assert ledger.version("low-sun@1").proofs == ledger.version("tram-fog@2").proofs


def test_a_fork_of_a_bare_name_is_of_its_last_version(cli: Cli, looks: Path) -> None:
    """A name without a number means the last version."""
    assert cli("fork", "tram-fog", "low-sun", "--ledger", looks, "--json").json["parents"] == ["tram-fog@3"]


def test_restore_makes_the_old_look_the_newest(cli: Cli, looks: Path) -> None:
    """A new version with the old text and the drift measured of it; the versions between stay."""
    told = cli("restore", "tram-fog@2", "--ledger", looks, "--json").json
    assert (told["ref"], told["kind"], told["parents"]) == ("tram-fog@4", "restore", ["tram-fog@2"])
    ledger = Ledger.open(looks)
    assert ledger.text("tram-fog@4") == ledger.text("tram-fog@2")
    assert ledger.version("tram-fog@4").drift == ledger.version("tram-fog@2").drift
    assert len(ledger.versions("tram-fog")) == 4


def test_restore_keeps_its_hands_off_an_unsaved_edit(
    cli: Cli, looks: Path, edit: Callable[[str, str], None]
) -> None:
    """The edit stays; the command says so and does nothing."""
    edit("tram-fog", TRAM_FOG.replace("0.35", "0.90"))
    told = cli("restore", "tram-fog@1", "--ledger", looks)
    assert (told.status, "unsaved-edit" in told.err) == (2, True)
    assert "0.90" in (looks / "recipes" / "tram-fog.toml").read_text()


def test_restoring_the_last_version_changes_nothing(cli: Cli, looks: Path) -> None:
    """``saved: false`` and the version there is."""
    told = cli("restore", "tram-fog@3", "--ledger", looks, "--json").json
    assert (told["saved"], told["ref"]) == (False, "tram-fog@3")


def test_a_blend_stands_between_and_is_judged_by_both(cli: Cli, looks: Path) -> None:
    """Two parents; contrast is a ratio and blends in log; the proofs of both parents measure it."""
    told = cli(
        "blend", "tram-fog@3", "quay-night", "mid", "--weight", "0.5", "--ledger", looks, "--json"
    ).json
    assert told["parents"] == ["tram-fog@3", "quay-night@1"]
    assert told["drift"]["proofs"] == 1
    ledger = Ledger.open(looks)
    assert ledger.read("mid@1").curve.slope == pytest.approx((1.3 * 1.2) ** 0.5, abs=5e-4)
    assert ledger.proofs("mid") == ledger.proofs("tram-fog")


@pytest.mark.parametrize("weight", ["0", "1"])
def test_a_blend_at_its_ends_is_one_of_them(weight: str, cli: Cli, looks: Path) -> None:
    """Weight 0 is A, weight 1 is B."""
    cli("blend", "tram-fog@3", "quay-night", "end", "--weight", weight, "--ledger", looks)
    end = ("tram-fog@3", "quay-night@1")[int(weight)]
    assert cli("diff", "end", end, "--ledger", looks, "--json").json["changes"] == []


@pytest.mark.parametrize("words", [("fork", "tram-fog@1"), ("blend", "tram-fog", "quay-night")])
@pytest.mark.parametrize("name", ["quay-night", "Low Sun", "../low-sun", "draft"])
def test_the_new_name_must_be_free_and_a_name(
    name: str, words: tuple[str, ...], cli: Cli, looks: Path, edit: Callable[[str, str], None]
) -> None:
    """A taken name, one that is none, and one whose file was begun by hand: refused, nothing changed."""
    edit("draft", QUAY)
    more = ("--weight", "0.5") if words[0] == "blend" else ()
    before = len(Ledger.open(looks).versions())
    told = cli(*words, name, *more, "--ledger", looks)
    assert told.status == 2
    assert told.err.startswith(("error [recipe-exists]", "error [bad-name]"))
    assert len(Ledger.open(looks).versions()) == before
    assert (looks / "recipes" / "draft.toml").read_text() == QUAY


@pytest.mark.parametrize("ref", ["tram-fog@9", "harbour@1", "tram-fog@x", "@1"])
def test_a_version_that_is_not_there(ref: str, cli: Cli, looks: Path) -> None:
    """Fork and restore say which version they looked for."""
    for words in (("fork", ref, "low-sun"), ("restore", ref)):
        told = cli(*words, "--ledger", looks)
        assert (told.status, told.out) == (2, "")
