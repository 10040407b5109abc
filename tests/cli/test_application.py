"""The application: one catch for errors, the exit status, help, and what is loaded for it."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
import typer

from cli.conftest import Cli
from driftline.cli import application
from driftline.cli.application import COMMANDS, run

NAMES = [name.replace("_", "-") for name in COMMANDS]
HEAVY = ["numpy", "numba", "scipy", "colour", "rawpy", "PIL", "tomlkit", "jinja2", "rich"]


def command(*arguments: str, cwd: Path, **settings: str) -> subprocess.CompletedProcess[str]:
    """The command as a program of its own."""
    return subprocess.run(
        [sys.executable, "-m", "driftline", *arguments],
        cwd=cwd, env={**os.environ, **settings}, capture_output=True, text=True, check=False,
    )  # fmt: skip


def test_help_names_every_command_in_the_order_of_a_day(cli: Cli) -> None:
    """``--help`` lists all commands, each with a whole sentence."""
    told = cli("--help")
    listed = re.findall(r"^  ([a-z][a-z-]*)  +[A-Z]", told.out, re.M)
    assert (told.status, listed) == (0, NAMES)
    assert "..." not in told.out.replace("[ARGS]...", "")


@pytest.mark.parametrize("name", NAMES)
def test_help_of_a_command_fits_the_terminal(name: str, cli: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    """The help of each command fits 80 columns and speaks of no types."""
    monkeypatch.setenv("COLUMNS", "80")
    told = cli(name, "--help")
    assert told.status == 0
    assert max(map(len, told.out.splitlines())) <= 80
    assert not re.search(r"<\w+>|list\[|Path\b", told.out)


@pytest.mark.parametrize("name", NAMES)
def test_every_option_says_what_it_does(name: str) -> None:
    """No argument and no option stands in the help without a sentence."""
    group = typer.main.get_command(application._application())
    params = group.commands[name].params  # type: ignore[attr-defined]
    assert [param.name for param in params if not param.help] == []


def test_no_command_shows_the_help_and_does_nothing(cli: Cli) -> None:
    """Without words the help is shown; the status says that nothing was done."""
    told = cli()
    assert (told.status, "Commands" in told.out) == (2, True)


def test_the_version_is_told(cli: Cli) -> None:
    """``--version`` names the program and its version, in one line."""
    assert re.fullmatch(r"driftline \d+\.\d+\.\d+\n", cli("--version").out)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["histori"], "history"),
        (["check"], "FRAME"),
        (["check", "x.dng"], "--recipe"),
        (["apply", "a", "b", "--out", "c", "--quality", "fine"], "'--quality': 'fine' is not a whole number"),
        (["correct", "a", "--ev", "bright"], "'--ev': 'bright' is not a number"),
        (["apply", "a", "b", "--out", "c", "--space", "rgb"], "display-p3"),
        (["blend", "a", "b", "c", "--weight", "1.4"], "--weight"),
        (["history", "--colour"], "--colour"),
    ],
)
def test_wrong_words_are_an_error_in_two_lines(words: list[str], said: str, cli: Cli) -> None:
    """What was typed wrongly is named, with the next step; nothing is on standard output; status 2."""
    told = cli(*words)
    assert (told.status, told.out) == (2, "")
    first, second = told.err.splitlines()
    assert first.startswith("error [usage]")
    assert said in first
    assert second.startswith("  try: driftline")


def test_an_error_leaves_standard_output_empty(cli: Cli) -> None:
    """With ``--json`` too: the message is on standard error, nothing on standard output, status 2."""
    told = cli("history", "--json")
    assert (told.status, told.out) == (2, "")
    assert told.err.startswith("error [ledger-not-found]")


def test_what_the_system_refuses_is_an_error_in_words(cli: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    """No permission, a full disk: the place and the system's own words, no traceback."""

    def refuse(*_: object) -> None:
        raise PermissionError(13, "Permission denied", "/looks/recipes")

    monkeypatch.setattr("driftline.ledger.Ledger.find", refuse)
    told = cli("history")
    assert (told.status, told.err) == (2, "error [system-refused] /looks/recipes: Permission denied\n")


def test_ctrl_c_is_told_in_one_line(cli: Cli, monkeypatch: pytest.MonkeyPatch) -> None:
    """An interrupt ends with a sentence and the status shells know, 130."""

    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("driftline.ledger.Ledger.find", interrupt)
    told = cli("history")
    assert told.status == 130
    assert told.err.startswith("stopped")


def test_a_defect_is_not_hidden(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An exception that is not meant for the user goes on: it must be found, not put into words."""

    def break_down(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("driftline.ledger.Ledger.find", break_down)
    with pytest.raises(ZeroDivisionError):
        run(["history"])


def test_the_ledger_is_found_three_ways(cli: Cli, looks: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """``--ledger`` comes first, then DRIFTLINE_LEDGER, then the nearest folder upwards."""
    named = cli("history", "--ledger", looks, "--json").json
    monkeypatch.setenv("DRIFTLINE_LEDGER", str(looks))
    assert cli("history", "--json").json == named
    assert cli("history", "--ledger", looks.parent / "none").status == 2
    monkeypatch.delenv("DRIFTLINE_LEDGER")
    monkeypatch.chdir(looks / "recipes")
    assert cli("history", "--json").json == named


def test_a_reader_that_stops_early_is_no_error(looks: Path) -> None:
    """``driftline history | head -1``: no complaint, whatever is left unread."""
    script = f"{sys.executable} -m driftline history --json | head -1"
    done = subprocess.run(script, shell=True, cwd=looks, capture_output=True, text=True, check=False)
    assert (done.stdout, done.stderr) == ("{\n", "")


def test_a_terminal_of_few_letters_still_gets_the_answer(looks: Path) -> None:
    """Where the encoding has no arrow, text shows its number, and JSON stays JSON."""
    plain = {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    told = command("history", "tram-fog", cwd=looks, **plain)
    assert (told.returncode, told.stderr) == (0, "")
    assert "\\u2192" in told.stdout
    assert json.loads(command("history", "--json", cwd=looks, **plain).stdout)["versions"]


@pytest.mark.parametrize("words", [["--help"], ["apply", "--help"], ["history"], ["history", "--json"]])
def test_nothing_heavy_is_loaded(words: list[str], looks: Path) -> None:
    """Help and history load no library that pixels need."""
    code = (
        "import sys; from driftline.cli.application import run; status = run(sys.argv[1:]);"
        f"print(status, *sorted({set(HEAVY)!r} & set(sys.modules)), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, *words], cwd=looks, capture_output=True, text=True, check=False
    )
    assert done.stderr.split() == ["0"]
