"""Killed after each numbered write step: the ledger is before or after, never between."""

from __future__ import annotations

import os
import signal
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from driftline.errors import LedgerError
from driftline.ledger import Ledger
from driftline.ledger.files import WorkingFolder

Starter = Callable[..., subprocess.Popen[str]]
PlainGit = Callable[..., str]


def killed(saver: subprocess.Popen[str]) -> str:
    """Wait for the saver to kill itself; its output."""
    out, error = saver.communicate(timeout=60)
    assert saver.returncode == -signal.SIGKILL, error
    return out


@pytest.mark.parametrize("way", ["text", "by-hand"])
@pytest.mark.parametrize("step", [1, 2, 3, 4, 5])
def test_killed_after_a_step(
    ledger: Ledger, start_saver: Starter, git: PlainGit, step: int, way: str
) -> None:
    """Before the commit point nothing is saved, from there on all of it; the next command tidies up."""
    options = ["--by-hand"] if way == "by-hand" else []
    assert (
        killed(start_saver("tram-fog", "1", "--die-after", str(step), "--offset", "77", *options))
        == "ready\n"
    )
    versions = Ledger.open(ledger.path).versions("tram-fog")
    assert git("fsck", "--strict") is not None
    if step == 1:
        assert [v.ref for v in versions] == ["tram-fog@1"]
        assert git("status", "--porcelain").strip() == ("M recipes/tram-fog.toml" if options else "")
    else:
        assert [v.ref for v in versions] == ["tram-fog@2", "tram-fog@1"]
        assert git("status", "--porcelain") == ""
        assert ledger.read("tram-fog@2").exposure.ev == 0.0077
        assert not ledger.working_differs("tram-fog")
    again = (
        ledger.save("tram-fog") if step == 1 and options else ledger.save("tram-fog", "exposure.ev = 1.0\n")
    )
    assert (again.saved, again.version) == (True, 2 if step == 1 else 3)
    assert git("status", "--porcelain") == ""


def test_a_hand_edit_made_after_a_crash_is_kept(ledger: Ledger, start_saver: Starter, git: PlainGit) -> None:
    """A file that was edited after a save died at its commit point is the photographer's: never refreshed."""
    killed(start_saver("tram-fog", "1", "--die-after", "2", "--offset", "77"))
    edited = "exposure.ev = 2.0\n"
    (ledger.path / "recipes/tram-fog.toml").write_text(edited)
    assert [v.version for v in Ledger.open(ledger.path).versions()] == [2, 1]
    assert ledger.working_text("tram-fog") == edited
    assert ledger.save("tram-fog").ref == "tram-fog@3"
    assert git("status", "--porcelain") == ""


def test_a_first_version_whose_file_was_never_written_gets_it(
    ledger: Ledger, start_saver: Starter, git: PlainGit
) -> None:
    """A new recipe saved by a program that died at the commit point appears in the folder."""
    killed(start_saver("quay-night", "1", "--die-after", "2"))
    assert Ledger.open(ledger.path).recipes() == ["quay-night", "tram-fog"]
    assert (ledger.path / "recipes/quay-night.toml").exists()
    assert git("status", "--porcelain") == ""


def test_a_dead_reference_lock_is_removed_and_a_young_one_waited_for(
    ledger: Ledger, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A lock of the branch that a killed git left goes once it is old enough."""
    monkeypatch.setattr("driftline.ledger.lock.STALE_AFTER_S", 0.3)
    lock = ledger.path / ".git/refs/heads/main.lock"
    lock.touch()
    assert ledger.save("tram-fog", "exposure.ev = 1.0\n").saved
    assert not lock.exists()
    lock.touch()
    os.utime(lock, (1, 1))
    assert ledger.save("tram-fog", "exposure.ev = 2.0\n").saved
    assert not lock.exists()


def test_a_lock_from_the_future_is_no_obstacle(ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """A wrong clock keeps no dead lock alive: what stands unchanged long enough is dead."""
    monkeypatch.setattr("driftline.ledger.lock.STALE_AFTER_S", 0.3)
    lock = ledger.path / ".git/HEAD.lock"
    lock.touch()
    os.utime(lock, (4e9, 4e9))
    assert ledger.save("tram-fog", "exposure.ev = 1.0\n").saved


def test_an_index_lock_of_someone_else_does_not_matter(ledger: Ledger, git: PlainGit) -> None:
    """A save works while an editor holds the index; the entry is set by the next save."""
    lock = ledger.path / ".git/index.lock"
    lock.touch()
    assert ledger.save("tram-fog", "exposure.ev = 1.0\n").saved
    assert lock.exists(), "it is not ours to take away"
    lock.unlink()
    assert ledger.save("tram-fog", "exposure.ev = 2.0\n").saved
    assert git("status", "--porcelain") == ""


def test_an_index_lock_of_our_own_dead_is_taken_away(ledger: Ledger, git: PlainGit) -> None:
    """The lock of a saver killed while it held the index is known by the file it is a link to."""
    ours = ledger.path / ".git/driftline/index-lock"
    ours.touch()
    os.link(ours, ledger.path / ".git/index.lock")
    assert ledger.save("tram-fog", "exposure.ev = 1.0\n").saved
    assert not (ledger.path / ".git/index.lock").exists()
    assert git("status", "--porcelain") == ""


def test_an_index_that_stayed_behind_is_brought_up_by_the_next_command(ledger: Ledger, git: PlainGit) -> None:
    """Reading is enough: once the foreign lock is gone, any command leaves `git status` clean."""
    lock = ledger.path / ".git/index.lock"
    lock.touch()
    assert ledger.save("tram-fog", "exposure.ev = 1.0\n").saved
    lock.unlink()
    assert len(Ledger.open(ledger.path).versions()) == 2
    assert git("status", "--porcelain") == ""


def test_a_file_that_could_not_be_written_is_written_by_the_next_command(
    ledger: Ledger, git: PlainGit, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A disk that fills up after the commit point costs nothing: the version is saved, the file follows."""
    real = WorkingFolder.write

    def full(self: WorkingFolder, path: str, content: bytes, *, durable: bool = True) -> None:
        raise LedgerError("ledger-disk-full", path)

    monkeypatch.setattr(WorkingFolder, "write", full)
    assert ledger.save("tram-fog", "exposure.ev = 1.0\n").ref == "tram-fog@2"
    monkeypatch.setattr(WorkingFolder, "write", real)
    assert [v.version for v in ledger.versions("tram-fog")] == [2, 1]
    assert ledger.working_text("tram-fog") == "exposure.ev = 1.0\n"
    assert git("status", "--porcelain") == ""


def test_in_a_fresh_clone_the_working_file_is_no_hand_edit(
    ledger: Ledger, git: PlainGit, tmp_path: Path
) -> None:
    """A copy without notes of its own knows its files by the last version."""
    git("clone", "--quiet", str(ledger.path), str(tmp_path / "copy"))
    copy = Ledger.open(tmp_path / "copy")
    assert copy.save("tram-fog", "exposure.ev = 1.0\n").saved
    assert copy.working_text("tram-fog") == "exposure.ev = 1.0\n"
