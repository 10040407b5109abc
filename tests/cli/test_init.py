"""``init`` and ``page``: a ledger from nothing, and its history as pages."""

from __future__ import annotations

from pathlib import Path

from cli.conftest import Cli
from driftline.ledger import Ledger
from driftline.starter import starter_recipes


def test_a_ledger_with_the_starter_recipes(cli: Cli, home: Path) -> None:
    """Every starter recipe is there as a first version; the text says what each is for."""
    told = cli("init", "looks", "--json").json
    assert told["ledger"] == str(home / "looks")
    assert Ledger.open(home / "looks").recipes() == sorted(starter_recipes())
    lines = cli("init", "more").out.splitlines()
    assert len(lines) == len(starter_recipes()) + 2
    assert max(map(len, lines[1:])) <= 100


def test_what_is_there_already_stays(cli: Cli, home: Path) -> None:
    """A second ledger in one place, a folder with something in it, a file: refused, nothing touched."""
    cli("init", "looks")
    (home / "full").mkdir()
    (home / "full" / "letter.txt").write_text("dear")
    for place in ("looks", "full", "full/letter.txt"):
        told = cli("init", place)
        assert (told.status, told.out) == (2, "")
    assert [path.name for path in (home / "full").iterdir()] == ["letter.txt"]


def test_a_folder_with_spaces_and_letters_of_any_script(cli: Cli, home: Path) -> None:
    """Folders may be called anything."""
    told = cli("init", "Meine Blicke – 霧", "--json")
    assert cli("history", "--ledger", told.json["ledger"], "--json").json["versions"]


def test_the_history_as_pages(cli: Cli, looks: Path, home: Path) -> None:
    """The document names the first page, which is there and speaks of the look."""
    told = cli("page", "--out", "page", "--ledger", looks, "--json").json
    assert "tram-fog" in Path(told["page"]).read_text("utf-8")
    assert (home / "page") in Path(told["page"]).absolute().parents
