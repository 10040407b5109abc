"""``save``: a version with its changes, its drift and a note."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from cli.conftest import QUAY, TRAM_FOG, Cli
from driftline.ledger import Ledger

Edit = Callable[[str, str], None]
KEYS = {"saved", "recipe", "version", "ref", "commit", "changes", "drift"}


def test_a_new_version_with_changes_and_drift(cli: Cli, looks: Path, edit: Edit) -> None:
    """The document names the version and its commit, the changes by field, and what was measured."""
    edit("tram-fog", TRAM_FOG.replace("0.35", "0.80"))
    told = cli("save", "tram-fog", "--note", "for the harbour", "--ledger", looks, "--json").json
    assert told.keys() >= KEYS
    assert (told["saved"], told["recipe"], told["version"], told["ref"]) == (
        True,
        "tram-fog",
        4,
        "tram-fog@4",
    )
    assert {"field": "exposure.ev", "from": 0.5, "to": 0.8, "unit": "EV"} in told["changes"]
    assert told["drift"]["proofs"] == 1
    shown = subprocess.check_output(["git", "-C", looks, "show", "-s", told["commit"]], text=True)
    assert "for the harbour" in shown


def test_nothing_changed_saves_nothing(cli: Cli, looks: Path) -> None:
    """The version there is comes back, with ``saved: false``; the text says so."""
    told = cli("save", "quay-night", "--ledger", looks, "--json")
    assert (told.status, told.json["saved"], told.json["ref"]) == (0, False, "quay-night@1")
    assert told.json["changes"] == []
    assert cli("save", "quay-night", "--ledger", looks).out == "nothing to save: quay-night@1 is the same\n"


def test_words_alone_are_kept_and_are_no_change_of_the_look(cli: Cli, looks: Path, edit: Edit) -> None:
    """A comment is a version of kind words without changes."""
    edit("quay-night", "# the long exposures\n" + QUAY)
    told = cli("save", "quay-night", "--ledger", looks, "--json").json
    assert (told["saved"], told["kind"], told["changes"]) == (True, "words", [])


def test_from_a_file_and_a_name_that_is_new(cli: Cli, looks: Path, home: Path) -> None:
    """``--from`` takes a file wherever it lies; a mistaken name in it is an error."""
    (home / "dusk.toml").write_text("[exposure]\nev = -0.5\n")
    assert cli("save", "dusk", "--from", "dusk.toml", "--ledger", looks, "--json").json["ref"] == "dusk@1"
    (home / "other.toml").write_text('name = "noon"\n')
    assert "recipe-name-mismatch" in cli("save", "dusk", "--from", "other.toml", "--ledger", looks).err
    assert cli("save", "dusk", "--from", "gone.toml", "--ledger", looks).status == 2


def test_from_a_file_never_overwrites_a_hand_edit(cli: Cli, looks: Path, home: Path, edit: Edit) -> None:
    """An edit in the working file that is not saved stays, and the command refuses."""
    edited = QUAY.replace("1.2", "1.3")
    edit("quay-night", edited)
    (home / "dusk.toml").write_text("[exposure]\nev = -0.5\n")
    told = cli("save", "quay-night", "--from", "dusk.toml", "--ledger", looks)
    assert (told.status, "unsaved-edit" in told.err) == (2, True)
    assert (looks / "recipes" / "quay-night.toml").read_text() == edited


def test_a_proof_that_cannot_be_read_does_not_block(cli: Cli, looks: Path, home: Path, edit: Edit) -> None:
    """The version is saved on the good proof, the bad frame listed, status 1."""
    (home / "text.dng").write_text("x")
    edit("quay-night", QUAY.replace("1.2", "1.4"))
    told = cli(
        "save",
        "quay-night",
        "--proof",
        "text.dng",
        "--proof",
        "shoot/quay-03.dng",
        "--ledger",
        looks,
        "--json",
    )
    assert (told.status, told.json["saved"], told.json["drift"]["proofs"]) == (1, True, 1)
    assert [failed["frame"] for failed in told.json["failed"]] == ["text.dng"]


def test_a_kept_proof_that_is_gone_does_not_block(cli: Cli, looks: Path, edit: Edit) -> None:
    """The save is done without it, and says so on standard error."""
    (fingerprint,) = Ledger.open(looks).proofs("tram-fog")
    git = ["git", "-C", str(looks), "-c", "user.name=t", "-c", "user.email=t@example.org"]
    shutil.rmtree(looks / "proofs" / fingerprint)
    subprocess.run([*git, "commit", "-qam", "share without proofs"], check=True)
    edit("tram-fog", TRAM_FOG.replace("0.35", "0.60"))
    told = cli("save", "tram-fog", "--ledger", looks, "--json")
    assert (told.status, told.json["saved"], told.json["drift"]) == (0, True, None)
    assert fingerprint[:12] in told.err


@pytest.mark.parametrize(
    "note",
    [
        "Nebel über dem Kai, 霧 🌫",
        "one\ntwo\n\nthree",
        "Recipe: forged\nVersion: tram-fog@99",
        "---\nx",
        "  a  b ",
    ],
)
def test_a_note_comes_back_as_it_was_given(note: str, cli: Cli, looks: Path, edit: Edit) -> None:
    """Any script, several lines, lines that look like trailers: the history gives the same words back."""
    edit("quay-night", QUAY.replace("1.2", "1.5"))
    ref = cli("save", "quay-night", "--note", note, "--ledger", looks, "--json").json["ref"]
    newest = cli("history", "quay-night", "--ledger", looks, "--json").json["versions"][0]
    assert (newest["ref"], newest["note"]) == (ref, note.rstrip())


@pytest.mark.parametrize(
    "name", ["Quay Night", "QUAY", "../quay", "quay/night", "-quay", "con", "", "a" * 65]
)
def test_names_that_no_ledger_takes(name: str, cli: Cli, looks: Path) -> None:
    """Refused in words; nothing is written inside or outside the ledger."""
    before = sorted(path for path in looks.parent.rglob("*") if ".git" not in path.parts)
    told = cli("save", "--ledger", looks, "--", name)
    assert told.status == 2
    assert told.err.startswith("error [bad-name]")
    assert sorted(path for path in looks.parent.rglob("*") if ".git" not in path.parts) == before
