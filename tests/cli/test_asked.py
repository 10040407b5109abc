"""A recipe argument: a name, a version, or a file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cli.conftest import QUAY, TRAM_FOG, Cli
from driftline.cli.asked import ask_recipe

Edit = Callable[[str, str], None]


def test_a_name_a_version_and_a_file(looks: Path) -> None:
    """Each gives the recipe it means; a file needs no ledger."""
    (looks.parent / "dusk.toml").write_text("[exposure]\nev = -0.5\n")
    assert ask_recipe("tram-fog@1", looks).recipe.exposure.ev == 0.35
    assert ask_recipe("tram-fog", looks).recipe.curve.slope == 1.3
    assert ask_recipe("dusk.toml", None).recipe.exposure.ev == -0.5
    assert ask_recipe("./dusk.toml", None).label == "dusk.toml"


def test_of_a_bare_name_the_working_file_counts_and_it_is_said(looks: Path, edit: Edit) -> None:
    """One checks before saving: the working file is taken, and that it differs is said."""
    edit("quay-night", QUAY.replace("1.2", "1.4"))
    asked = ask_recipe("quay-night", looks)
    assert asked.recipe.curve.slope == 1.4
    assert asked.label == "quay-night (working file)"
    assert "differs from quay-night@1" in asked.remark
    assert ask_recipe("tram-fog", looks).remark == ""


def test_a_new_working_file_and_one_that_is_gone(looks: Path, edit: Edit) -> None:
    """A file that was never saved counts; where one was deleted, the last version does; both are said."""
    edit("pier", "[exposure]\nev = 1.0\n")
    assert "not saved yet" in ask_recipe("pier", looks).remark
    (looks / "recipes" / "quay-night.toml").unlink()
    asked = ask_recipe("quay-night", looks)
    assert (asked.label, asked.recipe.curve.slope) == ("quay-night@1", 1.2)
    assert "missing" in asked.remark


@pytest.mark.parametrize(
    ("argument", "code"),
    [
        ("Tram Fog", "bad-name"),
        ("TRAM-FOG", "bad-name"),
        ("", "bad-name"),
        ("tram fog@1", "bad-name"),
        ("..", "bad-name"),
        ("../../etc/passwd", "recipe-missing"),
        ("/dev/null/x.toml", "recipe-"),
        ("harbour", "no-such-recipe"),
        ("tram-fog@99", "no-such-version"),
        ("tram-fog@", "bad-ref"),
        ("tram-fog@1@2", "bad-ref"),
        ("tram-fog@-1", "bad-ref"),
        ("gone.toml", "recipe-missing"),
        ("shoot/", "recipe-"),
        ("shoot/quay-01.dng", "recipe-"),
    ],
)
def test_what_is_no_recipe_is_refused_by_name(argument: str, code: str, cli: Cli, looks: Path) -> None:
    """Hostile and mistaken arguments: one clear error with its code, status 2, nothing on standard output."""
    told = cli("check", "shoot/quay-01.dng", "--recipe", argument, "--ledger", looks)
    assert (told.status, told.out) == (2, "")
    assert told.err.startswith(f"error [{code}")


def test_a_typo_in_a_recipe_names_file_line_and_field(cli: Cli, looks: Path, edit: Edit) -> None:
    """The error of a working file has the form of the house: where, what, what is allowed, what next."""
    edit("tram-fog", TRAM_FOG.replace("0.35", "9.0"))
    told = cli("check", "shoot/quay-01.dng", "--recipe", "tram-fog", "--ledger", looks)
    first, second = told.err.splitlines()
    assert told.status == 2
    assert first.startswith("error [recipe-out-of-range] ")
    assert "recipes/tram-fog.toml, line 5, exposure.ev: 9.0; allowed -6 to 6" in first
    assert second.startswith("  try: ")


def test_an_unknown_field_is_never_ignored(cli: Cli, home: Path) -> None:
    """A misspelt field of a recipe file is an error, with the nearest field as the next step."""
    (home / "dusk.toml").write_text("[exposre]\nev = 0.3\n")
    (home / "x.dng").write_text("")
    told = cli("check", "x.dng", "--recipe", "dusk.toml")
    assert told.status == 2
    assert "dusk.toml, line 1" in told.err
    assert "exposure" in told.err
