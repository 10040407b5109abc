"""``diff``: two recipes apart by parameter and by picture."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from cli.conftest import QUAY, Cli

Edit = Callable[[str, str], None]


def test_two_versions_by_field(cli: Cli, looks: Path) -> None:
    """Every change with its path, both values and its unit; turned round, the values are."""
    told = cli("diff", "tram-fog@1", "tram-fog@2", "--ledger", looks, "--json").json
    assert told["changes"] == [{"field": "exposure.ev", "from": 0.35, "to": 0.5, "unit": "EV"}]
    assert told["drift"] is None
    back = cli("diff", "tram-fog@2", "tram-fog@1", "--ledger", looks, "--json").json
    assert (back["changes"][0]["from"], back["changes"][0]["to"]) == (0.5, 0.35)


def test_across_recipes_and_files(cli: Cli, looks: Path, home: Path) -> None:
    """A file against a version; equal looks differ in nothing."""
    (home / "dusk.toml").write_text("[curve]\nslope = 1.2\n")
    told = cli("diff", "dusk.toml", "quay-night@1", "--ledger", looks)
    assert told.out.splitlines()[0] == "dusk.toml → quay-night@1"
    assert "brick" in told.out
    assert "no change of the look" in cli("diff", "dusk.toml", "dusk.toml").out


def test_one_name_is_what_changed_since_its_last_version(cli: Cli, looks: Path, edit: Edit) -> None:
    """Older side first: the last version before the working file, a numbered version before the last."""
    edit("quay-night", QUAY.replace("1.2", "1.4"))
    told = cli("diff", "quay-night", "--ledger", looks, "--json").json
    assert (told["from"], told["to"]) == ("quay-night@1", "quay-night (working file)")
    assert told["changes"] == [{"field": "curve.slope", "from": 1.2, "to": 1.4, "unit": ""}]
    told = cli("diff", "tram-fog@1", "--ledger", looks, "--json").json
    assert (told["from"], told["to"]) == ("tram-fog@1", "tram-fog@3")


def test_the_working_file_is_meant_and_it_is_said(cli: Cli, looks: Path, edit: Edit) -> None:
    """Of a bare name beside another recipe, that the working file differs is said on standard error."""
    edit("quay-night", QUAY.replace("1.2", "1.4"))
    told = cli("diff", "tram-fog", "quay-night", "--ledger", looks, "--json")
    assert "quay-night: the working file differs from quay-night@1" in told.err
    assert told.json["to"] == "quay-night (working file)"


def test_by_picture_too(cli: Cli, looks: Path) -> None:
    """With a frame every cause between the two renderings; more contrast reads as more contrast."""
    words = ("diff", "tram-fog@2", "tram-fog@3", "--frame", "noon.dng", "--ledger", looks)
    causes = cli(*words, "--json").json["drift"]["causes"]
    assert causes["contrast"]["value"] > 0.1
    assert causes["contrast"]["unit"] == "log2"
    assert "by picture:" in cli(*words).out


def test_a_file_alone_has_nothing_to_differ_from(cli: Cli, home: Path) -> None:
    """The hint says what to add; a frame that is not there is an error, too."""
    (home / "dusk.toml").write_text("[curve]\nslope = 1.2\n")
    assert "diff-one-file" in cli("diff", "dusk.toml").err
    told = cli("diff", "dusk.toml", "dusk.toml", "--frame", "gone.dng")
    assert (told.status, told.out) == (2, "")
