"""``temper``: a softer version by the command."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cli.conftest import TRAM_FOG, Cli
from driftline.ledger import Ledger

KEYS = {"recipe", "version", "ref", "parents", "changes"}


def test_a_softer_version_with_its_lineage(cli: Cli, looks: Path) -> None:
    """The contract's keys, the parent, what was eased by how much, and the verdict that it now has."""
    told = cli("temper", "tram-fog", "--note", "softer", "--ledger", looks, "--json").json
    assert told.keys() >= KEYS
    assert (told["saved"], told["ref"], told["kind"]) == (True, "tram-fog@4", "temper")
    assert told["parents"] == ["tram-fog@3"]
    assert {change["field"] for change in told["changes"]} == {"exposure.ev", "curve.slope"}
    assert told["drift"]["verdict"] == "in keeping"
    eased = told["tempered"]
    assert (eased["wanted"], eased["reached"], eased["sections"]) == (
        "in keeping", True, ["exposure", "curve"],
    )  # fmt: skip
    assert 0 < eased["strength"] < 1
    assert eased["before"]["verdict"] != "in keeping"
    ledger = Ledger.open(looks)
    assert "# a third of a stop" in ledger.text("tram-fog@4")
    assert cli("lineage", "--ledger", looks, "--json").json["edges"][-1] == {
        "from": "tram-fog@3", "to": "tram-fog@4", "kind": "temper",
    }  # fmt: skip


def test_in_words_and_again(cli: Cli, looks: Path) -> None:
    """What was saved, each change, what it was before; a second time there is nothing to ease."""
    told = cli("temper", "tram-fog", "--ledger", looks)
    first, *rest = told.out.splitlines()
    assert (told.status, first) == (0, "saved tram-fog@4, temper of tram-fog@3")
    assert any(line.startswith("  exposure +0.50 → +0.") for line in rest)
    assert any(line.startswith("  drift: in keeping on 1 proof") for line in rest)
    assert "  exposure, curve eased to " in rest[-1]
    assert "; it was " in rest[-1]
    again = cli("temper", "tram-fog", "--ledger", looks)
    assert again.out.startswith("nothing to ease: tram-fog@4 is in keeping")
    assert cli("temper", "tram-fog", "--ledger", looks, "--json").json["saved"] is False
    assert len(Ledger.open(looks).versions("tram-fog")) == 4


def test_to_leaning_and_only_the_largest(cli: Cli, looks: Path) -> None:
    """A milder verdict, and only the section that did most."""
    words = ("temper", "tram-fog", "--to", "leaning", "--only", "largest", "--ledger", looks, "--json")
    told = cli(*words).json
    assert told["tempered"]["wanted"] == "leaning"
    assert told["drift"]["verdict"] in ("leaning", "in keeping")
    assert told["saved"] is False or len(told["tempered"]["sections"]) == 1


def test_a_recipe_without_proofs_takes_the_frame_given(cli: Cli, looks: Path) -> None:
    """``--proof`` keeps the frame first, as in ``save``; a bad one is told and does not stop the other."""
    told = cli("temper", "quay-night", "--ledger", looks)
    assert (told.status, "temper-without-proofs" in told.err) == (2, True)
    assert "--proof FRAME" in told.err
    (looks.parent / "text.dng").write_text("not a picture")
    told = cli(
        "temper", "quay-night", "--proof", "text.dng", "--proof", "noon.dng", "--ledger", looks, "--json"
    )
    assert (told.status, [one["frame"] for one in told.json["failed"]]) == (1, ["text.dng"])
    assert told.json["drift"]["proofs"] == 1
    assert len(Ledger.open(looks).proofs("quay-night")) == 1


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (("harbour",), "no-such-recipe"),
        (("tram-fog@9",), "no-such-version"),
        (("tram-fog", "--to", "overdone"), "temper-verdict"),
        (("tram-fog", "--only", "curve"), "temper-only"),
        (("quay-night", "--proof", "gone.dng"), "frame-missing"),
    ],
)
def test_words_that_cannot_be(words: tuple[str, ...], code: str, cli: Cli, looks: Path) -> None:
    """Each is refused by name, and nothing is saved."""
    told = cli("temper", *words, "--ledger", looks)
    assert f"error [{code}]" in told.err
    assert (told.status, len(Ledger.open(looks).versions())) == (2, 5)


def test_an_unsaved_edit_is_not_written_over(cli: Cli, looks: Path, edit: Callable[[str, str], None]) -> None:
    """The edit stays; the command says so and does nothing."""
    edit("tram-fog", TRAM_FOG.replace("0.35", "0.90"))
    told = cli("temper", "tram-fog", "--ledger", looks)
    assert (told.status, "unsaved-edit" in told.err) == (2, True)
    assert "0.90" in (looks / "recipes" / "tram-fog.toml").read_text()
