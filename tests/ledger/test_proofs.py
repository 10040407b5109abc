"""Kept proofs, corrections and likenesses."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from driftline.errors import LedgerError
from driftline.ledger import Ledger

PlainGit = Callable[..., str]

A, B = "ab" * 32, "cd" * 32
FILES = {"linear.bin": bytes(range(256)) * 64, "camera.jpg": b"\xff\xd8\r\n\0", "exposure.json": b"{}"}


def test_a_kept_proof_comes_back_byte_for_byte(ledger: Ledger, git: PlainGit) -> None:
    """Its files are one commit of their own kind, and read back from the history."""
    assert ledger.keep_proof(A, FILES, name="night-07.dng")
    assert dict(ledger.read_proof(A)) == FILES
    assert ledger.kept_proofs() == [A]
    assert git("status", "--porcelain") == ""
    assert git("log", "-1", "--format=%s").strip() == "proof night-07.dng kept"
    assert (ledger.path / "proofs" / A / "camera.jpg").read_bytes() == FILES["camera.jpg"]


def test_keeping_the_same_again_does_nothing(ledger: Ledger, git: PlainGit) -> None:
    """No commit without a change; changed files replace the old ones, and gone ones go."""
    ledger.keep_proof(A, FILES)
    head = git("rev-parse", "HEAD")
    assert not ledger.keep_proof(A, FILES)
    assert git("rev-parse", "HEAD") == head
    assert ledger.keep_proof(A, {"linear.bin": b"new"})
    assert dict(ledger.read_proof(A)) == {"linear.bin": b"new"}
    assert git("status", "--porcelain") == ""
    assert not (ledger.path / "proofs" / A / "camera.jpg").exists()


def test_a_proof_that_is_not_kept_is_said(ledger: Ledger) -> None:
    """And so are impossible fingerprints and file names."""
    for act, code in [
        (lambda: ledger.read_proof(B), "no-such-proof"),
        (lambda: ledger.read_proof("../x"), "bad-fingerprint"),
        (lambda: ledger.keep_proof(A, {"../x": b""}), "bad-file-name"),
        (lambda: ledger.keep_proof(A, {".git": b""}), "bad-file-name"),
        (lambda: ledger.keep_proof(A, {}), "bad-proof"),
        (lambda: ledger.set_proofs("nobody", [A]), "no-such-recipe"),
        (lambda: ledger.set_proofs("tram-fog", ["x"]), "bad-fingerprint"),
    ]:
        with pytest.raises(LedgerError) as caught:
            act()
        assert caught.value.code == code


def test_a_recipe_has_its_proofs(ledger: Ledger, git: PlainGit) -> None:
    """Chosen proofs are listed in their order, each once; choosing the same again does nothing."""
    assert ledger.proofs("tram-fog") == ()
    assert ledger.set_proofs("tram-fog", [B, A, B])
    assert ledger.proofs("tram-fog") == (B, A)
    assert ledger.proofs("quay-night") == ()
    assert not ledger.set_proofs("tram-fog", [B, A])
    assert git("status", "--porcelain") == ""


def test_a_list_edited_into_nonsense_is_said(ledger: Ledger) -> None:
    """The error names the file and what was expected."""
    ledger.set_proofs("tram-fog", [A])
    (ledger.path / "proofs/of/tram-fog.toml").write_text("proofs = 3")
    with pytest.raises(LedgerError, match="expected proofs") as caught:
        ledger.proofs("tram-fog")
    assert caught.value.code == "bad-proof-list"


def test_corrections_are_kept_and_taken_back(ledger: Ledger, git: PlainGit) -> None:
    """One small file a frame, under the first two digits of its fingerprint."""
    assert ledger.correction(A) is None
    assert ledger.keep_correction(A, "ev = 0.3\n")
    assert not ledger.keep_correction(A, "ev = 0.3\n")
    assert ledger.correction(A) == "ev = 0.3\n"
    assert (ledger.path / "corrections/ab" / f"{A}.toml").exists()
    assert ledger.keep_correction(A, None)
    assert ledger.correction(A) is None
    assert git("status", "--porcelain") == ""


def test_likenesses_are_kept_by_name(ledger: Ledger, git: PlainGit) -> None:
    """One file a camera and setting."""
    assert ledger.keep_likeness("box-camera-standard", "format = 1\n")
    assert ledger.likenesses() == ["box-camera-standard"]
    assert ledger.likeness("box-camera-standard") == "format = 1\n"
    assert ledger.likeness("other") is None
    assert git("status", "--porcelain") == ""
