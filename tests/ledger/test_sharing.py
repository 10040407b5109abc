"""A copy to give away."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from driftline.errors import LedgerError
from driftline.ledger import Ledger

PICTURE = bytes(range(256)) * 400


def git(folder: Path, *words: str) -> str:
    """Plain git."""
    done = subprocess.run(["git", "-C", str(folder), *words], capture_output=True, text=True, check=True)
    return done.stdout


@pytest.fixture
def full(ledger: Ledger) -> Ledger:
    """A ledger with a proof, a fork, notes in other scripts, and a binary look to its proof."""
    ledger.keep_proof("ab" * 32, {"linear.bin": PICTURE, "note.txt": b"data 12\nM 100644 x proofs/y\n"})
    ledger.set_proofs("tram-fog", ["ab" * 32])
    ledger.save("tram-fog", "exposure.ev = 1.0\n", note="写真 — data 7\nM x")
    ledger.fork("tram-fog@1", "other")
    return ledger


def holds(repository: Path, content: bytes) -> bool:
    """Whether any object of a repository has that content."""
    blob = subprocess.run(
        ["git", "hash-object", "--stdin"], input=content, capture_output=True, check=True
    ).stdout.decode().strip()  # fmt: skip
    found = subprocess.run(
        ["git", "-C", str(repository), "cat-file", "-e", blob], capture_output=True, check=False
    )
    return found.returncode == 0


@pytest.mark.parametrize("proofs", [True, False])
def test_a_copy_holds_every_version(full: Ledger, tmp_path: Path, proofs: bool) -> None:
    """Names, texts, notes and lineage are the same; the pictures go along only if asked."""
    target = full.share(tmp_path / "gift.git", proofs=proofs)
    git(target, "fsck", "--strict", "--full")
    git(tmp_path, "clone", "--quiet", str(target), "theirs")
    theirs = Ledger.open(tmp_path / "theirs")
    assert [{**v.json(), "commit": ""} for v in theirs.versions()] == [
        {**v.json(), "commit": ""} for v in full.versions()
    ]
    assert theirs.text("tram-fog@1") == full.text("tram-fog@1")
    assert theirs.lineage("other").edges == full.lineage("other").edges
    assert holds(full.path, PICTURE)
    assert holds(target, PICTURE) is proofs
    assert theirs.kept_proofs() == (["ab" * 32] if proofs else [])
    assert theirs.proofs("tram-fog") == ("ab" * 32,)


def test_only_the_whole_copy_is_the_same_history(full: Ledger, tmp_path: Path) -> None:
    """With proofs the copy can be reconciled with; without, it is a ledger of its own, and that is said."""
    assert full.reconcile(str(full.share(tmp_path / "whole.git", proofs=True))).pushed
    with pytest.raises(LedgerError) as caught:
        full.reconcile(str(full.share(tmp_path / "part.git")))
    assert caught.value.code == "ledger-unrelated"


def test_nothing_is_built_over(full: Ledger, tmp_path: Path) -> None:
    """A folder that is there is refused."""
    with pytest.raises(LedgerError) as caught:
        full.share(tmp_path)
    assert caught.value.code == "folder-not-empty"
