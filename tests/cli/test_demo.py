"""``demo``: the whole job, from an empty folder."""

from __future__ import annotations

import subprocess
from pathlib import Path

from cli.conftest import Cli
from driftline.prints import read_provenance
from driftline.starter import demo_frames


def test_the_whole_job_in_an_empty_folder(cli: Cli, home: Path) -> None:
    """A ledger with three measured versions and a fork, a print of every frame, and a page."""
    told = cli("demo", "--out", "demo", "--json")
    document = told.json
    assert told.status == 0
    measured = [version for version in document["versions"] if version["drift"]]
    assert len([version for version in measured if version["recipe"] == "open-platform"]) >= 3
    assert any(version["kind"] == "fork" for version in measured)
    assert {version["drift"]["verdict"] for version in measured} > {"in keeping"}
    assert len(document["prints"]) == len(demo_frames())
    traced = read_provenance(Path(document["prints"][0]["path"]))
    assert (traced.intact, traced.provenance.making.recipe) == (True, "platform-late")
    assert Path(document["page"]).is_file()
    git = ["git", "-C", document["ledger"]]
    assert subprocess.check_output([*git, "status", "--porcelain"]) == b""
    subprocess.run([*git, "fsck", "--strict", "--no-progress"], check=True, capture_output=True)


def test_a_folder_with_something_in_it_is_left_alone(cli: Cli, home: Path) -> None:
    """The demo begins nowhere but in an empty folder."""
    (home / "letter.txt").write_text("dear")
    for place in (".", "letter.txt"):
        told = cli("demo", "--out", place)
        assert (told.status, told.out) == (2, "")
    assert [path.name for path in home.iterdir()] == ["letter.txt"]
