"""The record of prints."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from driftline.errors import LedgerError
from driftline.ledger import Ledger

PlainGit = Callable[..., str]

LINES = [
    {"frame": "ab" * 32, "ref": "tram-fog@1", "print": "a — b.jpg"},
    {"frame": "cd" * 32, "ref": "tram-fog@1"},
]


def test_a_run_is_one_commit_and_reads_back(ledger: Ledger, git: PlainGit) -> None:
    """Every line comes back with its year and run."""
    assert ledger.record_run(2031, "0412-harbour", LINES)
    assert [(r.year, r.run, dict(r.line)) for r in ledger.printed()] == [
        (2031, "0412-harbour", line) for line in LINES
    ]
    assert git("log", "-1", "--format=%s").strip() == "2 prints recorded in 2031/0412-harbour"
    assert git("show", "--format=", "--name-only").strip() == "prints/2031/0412-harbour.jsonl"
    assert git("status", "--porcelain") == ""


def test_a_resumed_run_adds_only_what_is_new(ledger: Ledger, git: PlainGit) -> None:
    """Lines that are there are not repeated; nothing new is no commit."""
    ledger.record_run(2031, "x", LINES[:1])
    assert ledger.record_run(2031, "x", LINES)
    assert not ledger.record_run(2031, "x", LINES)
    assert [dict(r.line) for r in ledger.printed()] == LINES


def test_set_aside_frames_can_be_taken_back(ledger: Ledger) -> None:
    """Both are in the record, in order."""
    assert ledger.record_set_aside(["ab" * 32, "cd" * 32])
    assert ledger.record_set_aside(["ab" * 32], aside=False)
    assert [(r.run, r.line["frame"][:2], r.line["state"]) for r in ledger.printed()] == [
        ("set-aside", "ab", "set-aside"), ("set-aside", "cd", "set-aside"), ("set-aside", "ab", "taken-back"),
    ]  # fmt: skip


@pytest.mark.parametrize(("year", "run"), [(2031, "../x"), (31, "x"), (2031, ""), (2031, "A"), (99999, "x")])
def test_impossible_runs_are_refused(ledger: Ledger, year: int, run: str) -> None:
    """A run is a plain name in a year."""
    with pytest.raises(LedgerError) as caught:
        ledger.record_run(year, run, LINES)
    assert caught.value.code == "bad-run"


def test_a_broken_line_is_named(ledger: Ledger, git: PlainGit) -> None:
    """A record damaged by hand says which file and line."""
    ledger.record_run(2031, "x", LINES)
    path = ledger.path / "prints/2031/x.jsonl"
    path.write_text(path.read_text() + "oops\n")
    git("commit", "--quiet", "-am", "by hand")
    with pytest.raises(LedgerError, match=r"x\.jsonl, line 3"):
        list(ledger.printed())
