"""Working files written from a screen: whole, and never over what somebody else wrote."""

from __future__ import annotations

import pytest

from driftline.errors import LedgerError
from driftline.ledger import Ledger

NAME = "tram-fog"


def test_an_edit_is_a_hand_edit(ledger: Ledger) -> None:
    """It stands in the working file, saves nothing, and counts as unsaved."""
    seen = ledger.working_bytes(NAME)
    assert seen is not None
    content = seen.replace(b"0.35", b"0.50")
    ledger.write_working(NAME, content, seen=seen)
    assert ledger.working_bytes(NAME) == content
    assert ledger.working_differs(NAME)
    assert [version.ref for version in ledger.versions(NAME)] == ["tram-fog@1"]
    assert ledger.save(NAME).ref == "tram-fog@2"


def test_what_somebody_else_wrote_is_left_alone(ledger: Ledger) -> None:
    """A file that holds something else than was seen is not touched, and the error says so."""
    seen = ledger.working_bytes(NAME)
    path = ledger.path / "recipes" / f"{NAME}.toml"
    path.write_bytes(b"# mine\n")
    with pytest.raises(LedgerError) as refused:
        ledger.write_working(NAME, b"# yours\n", seen=seen)
    assert refused.value.code == "working-file-changed"
    assert path.read_bytes() == b"# mine\n"


def test_a_file_that_is_gone_is_written_again_only_when_that_was_seen(ledger: Ledger) -> None:
    """None stands for no file, on both sides."""
    seen = ledger.working_bytes(NAME)
    (ledger.path / "recipes" / f"{NAME}.toml").unlink()
    with pytest.raises(LedgerError, match="changed by another program"):
        ledger.write_working(NAME, b"x", seen=seen)
    assert seen is not None
    ledger.write_working(NAME, seen, seen=None)
    assert not ledger.working_differs(NAME)


def test_no_file_outside_the_recipes_can_be_named(ledger: Ledger) -> None:
    """A name that would lead elsewhere is refused before anything is opened."""
    for name in ("../settings", "a/b", "", "..", "tram-fog.toml"):
        with pytest.raises(LedgerError):
            ledger.write_working(name, b"", seen=None)
        with pytest.raises(LedgerError):
            ledger.working_bytes(name)


def test_a_note_beside_an_edit_is_in_no_commit(ledger: Ledger) -> None:
    """It is found again by whoever opens the ledger next, is nobody's hand edit, and can be lost."""
    assert ledger.own_note(f"drafts/{NAME}") is None
    ledger.keep_own_note(f"drafts/{NAME}", b"what can be undone")
    again = Ledger.open(ledger.path)
    assert again.own_note(f"drafts/{NAME}") == b"what can be undone"
    assert not again.working_differs(NAME)
    assert again.save(NAME).saved is False
    (ledger.private / "drafts" / NAME).unlink()
    (ledger.private / "drafts" / NAME).symlink_to(ledger.path / "settings.toml")
    assert again.own_note(f"drafts/{NAME}") is None
    again.keep_own_note("../../../outside", b"x")
    assert again.own_note("../../../outside") is None
    assert not (ledger.path.parent / "outside").exists()
