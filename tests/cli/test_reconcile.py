"""``reconcile``: two copies of a ledger brought together."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from cli.conftest import TRAM_FOG, Cli
from driftline.ledger import Ledger


@pytest.fixture
def laptop(looks: Path, home: Path) -> Path:
    """A second copy, and between the two a bare repository ``disk.git``."""
    subprocess.run(["git", "clone", "--quiet", "--bare", "looks", "disk.git"], cwd=home, check=True)
    subprocess.run(["git", "clone", "--quiet", "disk.git", "laptop"], cwd=home, check=True)
    shutil.rmtree(home / "shoot")
    return home / "laptop"


def test_what_each_changed_is_joined(cli: Cli, looks: Path, laptop: Path) -> None:
    """Different parameters merge into a version with both as parents; the document names it."""
    last = Ledger.open(looks).text("tram-fog")
    (looks / "recipes" / "tram-fog.toml").write_text(last.replace("slope = 1.3", "slope = 1.1"))
    (laptop / "recipes" / "tram-fog.toml").write_text(last.replace("ev = 0.50", "ev = 0.70"))
    cli("save", "tram-fog", "--ledger", looks)
    theirs = cli("save", "tram-fog", "--ledger", laptop, "--json").json["ref"]
    assert cli("reconcile", "disk.git", "--ledger", looks).out == "went out: tram-fog@4\n"
    told = cli("reconcile", "disk.git", "--ledger", laptop, "--json")
    (merged,) = told.json["merged"]
    assert (told.status, told.json["choices"], told.json["received"]) == (0, [], ["tram-fog@4"])
    recipe = Ledger.open(laptop).read(merged)
    assert (recipe.curve.slope, recipe.exposure.ev) == (1.1, 0.7)
    assert set(Ledger.open(laptop).version(merged).parents) == {"tram-fog@4", theirs}


def test_the_same_parameter_twice_is_a_choice(
    cli: Cli, looks: Path, laptop: Path, edit: Callable[[str, str], None]
) -> None:
    """Status 2 and nothing written until it is settled; the text shows both values and how to decide."""
    edit("tram-fog", TRAM_FOG.replace("0.35", "0.80"))
    (laptop / "recipes" / "tram-fog.toml").write_text(TRAM_FOG.replace("0.35", "0.90"))
    cli("save", "tram-fog", "--ledger", looks)
    cli("save", "tram-fog", "--ledger", laptop)
    cli("reconcile", "disk.git", "--ledger", looks)
    words = ("reconcile", "disk.git", "--ledger", laptop)
    told = cli(*words, "--json")
    (choice,) = told.json["choices"]
    assert (told.status, told.json["merged"]) == (2, [])
    assert (choice["field"], choice["here"], choice["there"]) == ("exposure.ev", 0.9, 0.8)
    assert "--choose tram-fog.exposure.ev=here" in cli(*words).out
    assert cli(*words, "--choose", "tram-fog.exposure.ev=there").status == 0
    assert Ledger.open(laptop).read("tram-fog").exposure.ev == 0.8


@pytest.mark.parametrize("remote", ["gone.git", "ext::sh -c true", "--upload-pack=true", "noon.dng"])
def test_a_remote_that_is_none(remote: str, cli: Cli, looks: Path) -> None:
    """Nothing runs and nothing is written; one error in words."""
    told = cli("reconcile", "--ledger", looks, "--", remote)
    assert (told.status, told.out) == (2, "")
    assert told.err.startswith("error [")


@pytest.mark.parametrize("choice", ["tram-fog.exposure.ev", "tram-fog.exposure.ev=mine", "="])
def test_a_choice_that_is_none(choice: str, cli: Cli, looks: Path) -> None:
    """A choice without a side is refused before anything is looked at."""
    told = cli("reconcile", "disk.git", "--choose", choice, "--ledger", looks)
    assert (told.status, "bad-choice" in told.err) == (2, True)
