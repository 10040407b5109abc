"""What a copy notes of its history is only ever a shortcut."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from driftline.ledger import Ledger

PlainGit = Callable[..., str]


@pytest.fixture
def grown(ledger: Ledger) -> Ledger:
    """A ledger with a few versions."""
    for number in (1, 2, 3):
        ledger.save("tram-fog", f"exposure.ev = {number}\n")
        ledger.save("quay-night", f"curve.slope = 1.{number}\n")
    return ledger


def told(ledger: Ledger) -> list[tuple[str, str]]:
    """Names and commits of all versions, newest first."""
    return [(v.ref, v.commit) for v in Ledger.open(ledger.path).versions()]


def nothing(private: Path) -> None:
    """Both notes are gone."""
    (private / "known.json").unlink()
    (private / "versions").unlink()


def cut_off(private: Path) -> None:
    """The list lost its end."""
    (private / "versions").write_bytes((private / "versions").read_bytes()[:-30])


def garbled(private: Path) -> None:
    """The list is all zeros, as after a power cut."""
    (private / "versions").write_bytes(b"\0" * len((private / "versions").read_bytes()))


def swapped(private: Path) -> None:
    """Two commits changed places."""
    lines = (private / "versions").read_text().splitlines()
    lines[0], lines[1] = (
        " ".join([*b.split()[:2], a.split()[2]]) for a, b in ((lines[0], lines[1]), (lines[1], lines[0]))
    )
    (private / "versions").write_text("\n".join(lines) + "\n")


def no_json(private: Path) -> None:
    """The note is not JSON."""
    (private / "known.json").write_text("{")


def other_json(private: Path) -> None:
    """The note is other JSON."""
    (private / "known.json").write_text('{"head": 3, "recipes": [], "labels": 1, "size": "x"}')


def wrong_head(private: Path) -> None:
    """The note is for a commit that is not there."""
    noted = json.loads((private / "known.json").read_text())
    (private / "known.json").write_text(json.dumps({**noted, "head": "0" * 40}))


def longer(private: Path) -> None:
    """The list has half a line too many."""
    with (private / "versions").open("a") as file:
        file.write("half a line")


DAMAGES = [nothing, cut_off, garbled, swapped, no_json, other_json, wrong_head, longer]


@pytest.mark.parametrize("damage", DAMAGES)
def test_damaged_notes_change_no_answer(grown: Ledger, git: PlainGit, damage: Callable[[Path], None]) -> None:
    """Lost, cut off, garbled or wrong: history, texts and the next number are what the commits say."""
    before = told(grown)
    damage(grown.path / ".git/driftline")
    assert told(grown) == before
    damage_again = grown.path / ".git/driftline"
    if (damage_again / "versions").exists() and (damage_again / "known.json").exists():
        damage(damage_again)
    assert Ledger.open(grown.path).read("tram-fog@2").exposure.ev == 1
    assert Ledger.open(grown.path).save("tram-fog", "exposure.ev = 4\n").ref == "tram-fog@5"
    assert told(grown)[1:] == before
    assert git("status", "--porcelain") == ""


def test_rewritten_history_gives_out_no_number_twice(grown: Ledger, git: PlainGit) -> None:
    """After a hard reset by hand, the numbers that were given out stay used."""
    git("reset", "--quiet", "--hard", "HEAD~2")
    assert [v.ref for v in grown.versions("tram-fog")] == ["tram-fog@3", "tram-fog@2", "tram-fog@1"]
    assert grown.save("tram-fog", "exposure.ev = 5\n").ref == "tram-fog@5"
    assert git("status", "--porcelain") == ""


def test_order_is_ancestry_not_clocks(grown: Ledger, git: PlainGit) -> None:
    """A clock that was set back does not move a version in the history."""
    commit = git("commit-tree", "HEAD^{tree}", "-p", "HEAD", "-m", "by hand\n\nnothing").strip()
    git("update-ref", "refs/heads/main", commit)
    old = git(
        "-c", "user.name=x", "commit-tree", "HEAD^{tree}", "-p", "HEAD",
        stdin="tram-fog@5\n\nRecipe: tram-fog\nVersion: tram-fog@5\nKind: version\n",
    ).strip()  # fmt: skip
    text = git("cat-file", "commit", old)
    lines = [
        line.rsplit(" ", 2)[0] + " 1000000000 +0000" if line.startswith(("author", "committer")) else line
        for line in text.split("\n")
    ]
    backdated = git("hash-object", "-t", "commit", "-w", "--stdin", stdin="\n".join(lines)).strip()
    git("update-ref", "refs/heads/main", backdated)
    newest = Ledger.open(grown.path).versions("tram-fog")[0]
    assert (newest.ref, newest.when) == ("tram-fog@5", "2001-09-09T01:46:40+00:00")


def test_a_commit_by_hand_is_no_version_but_can_become_one(grown: Ledger, fog: Path, git: PlainGit) -> None:
    """Plain `git commit` keeps the file; the next save makes it a version, even with the tree as it is."""
    fog.write_text("exposure.ev = 2.5\n")
    git("commit", "--quiet", "-am", "edited by hand")
    assert grown.working_differs("tram-fog")
    saved = grown.save("tram-fog")
    assert (saved.ref, saved.saved) == ("tram-fog@5", True)
    assert not grown.working_differs("tram-fog")
    assert git("status", "--porcelain") == ""


def test_trailers_forged_by_hand_under_a_taken_name_change_nothing(grown: Ledger, git: PlainGit) -> None:
    """A name that appears twice means the older version, for ever."""
    first = grown.version("tram-fog@2").commit
    git(
        "commit",
        "--quiet",
        "--allow-empty",
        "-m",
        "x\n\nRecipe: tram-fog\nVersion: tram-fog@2\nKind: version",
    )
    assert Ledger.open(grown.path).version("tram-fog@2").commit == first


def test_a_ledger_of_sha256_works(tmp_path: Path) -> None:
    """The newer object format is read from the repository."""
    import subprocess

    folder = tmp_path / "new"
    subprocess.run(
        ["git", "init", "--quiet", "--object-format=sha256", "-b", "main", str(folder)], check=True
    )
    (folder / "recipes").mkdir()
    (folder / "settings.toml").write_text("format = 1\n")
    subprocess.run(["git", "-C", str(folder), "add", "."], check=True)
    subprocess.run(["git", "-C", str(folder), "commit", "--quiet", "-m", "begin"], check=True)
    ledger = Ledger.open(folder)
    assert ledger.save("fog", "exposure.ev = 1.0\n").saved
    assert not ledger.save("fog").saved
    assert len(ledger.versions()[0].commit) == 64
    done = subprocess.run(
        ["git", "-C", str(folder), "status", "--porcelain"], capture_output=True, check=True
    )
    assert done.stdout == b""
