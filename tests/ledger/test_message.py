"""A commit's message: what git's own tools read from it, and that no note can disturb it."""

from __future__ import annotations

import subprocess

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from driftline.errors import LedgerError
from driftline.ledger.message import MAX_NOTE, Message, clean_note, compose

TRAILERS = [
    ("Recipe", "tram-fog"),
    ("Version", "tram-fog@7"),
    ("Kind", "version"),
    ("Derived-from", "tram-fog@6"),
    ("Derived-from", "quay-night@2"),
    ("Changes", '[{"field":"split.low.hue","from":240.0,"to":255.0,"unit":"°"}]'),
    ("Drift", '{"a":"x: y  z"}'),
]

NASTY = [
    "---",
    "a\n---\nb",
    "Version: other@9",
    "\n\nRecipe: other\nVersion: other@1",
    "x\n\nKind: fork\n",
    "# a comment\n#\n",
    "# ------------------------ >8 ------------------------",
    "Signed-off-by: nobody",
    "a\rVersion: other@9\r\n\r\nKind: merge",
    "nul \x00 escape \x1b[31m bell \x07 del \x7f",
    "(cherry picked from commit 0123456789)",
    "wet\u2028morning\u0085after\x0cfeed\x0bdown",
    "\ud800 lone",
    "diff --git a/x b/x",
    "  indented\n\ttab",
    "ünïcödé 写真",
]


def interpreted(message: str) -> list[tuple[str, str]]:
    """What git interpret-trailers finds in a message (git's documentation: git-interpret-trailers(1))."""
    done = subprocess.run(
        ["git", "interpret-trailers", "--parse"],
        input=message.encode(), capture_output=True, check=True,
    )  # fmt: skip
    pairs = (line.partition(": ") for line in done.stdout.decode().split("\n") if line)
    return [(key, value) for key, _, value in pairs]


@pytest.mark.parametrize("note", ["", "a plain note", *NASTY])
def test_git_reads_exactly_our_trailers(note: str) -> None:
    """Whatever the note is, git's own parser finds the trailers that were written and no other."""
    message = compose("tram-fog@7", ["exposure +0.35 → +0.50 EV"], note, TRAILERS)
    assert interpreted(message) == TRAILERS


@pytest.mark.parametrize("note", ["", "a plain note", *NASTY])
def test_note_and_trailers_come_back(note: str) -> None:
    """Our own reader gives back the note as it was cleaned, the words, and every trailer."""
    read = Message(compose("tram-fog@7", ["one", "two"], note, TRAILERS))
    assert read.note == clean_note(note)
    assert read.words == ("one", "two")
    assert read.every("Derived-from") == ("tram-fog@6", "quay-night@2")
    assert [read.first(key) for key in ("Recipe", "Version", "Kind")] == ["tram-fog", "tram-fog@7", "version"]
    assert read.first("Drift") == '{"a":"x: y  z"}'


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.text(alphabet=st.characters(), max_size=200))
def test_any_note_comes_back_and_hides_nothing(note: str) -> None:
    """For any text at all: the same note when read, and cleaning it again changes nothing."""
    read = Message(compose("x@1", ["- a: b"], note, TRAILERS))
    assert read.note == clean_note(note) == clean_note(clean_note(note))
    assert read.first("Version") == "tram-fog@7"


def test_a_note_is_kept_as_it_was_written() -> None:
    """Lines, inner blank lines and indentation stay; line ends are made equal."""
    assert clean_note("\r\n a\r\n\r\n  b \n") == " a\n\n  b"


def test_a_note_too_long_is_refused() -> None:
    """The limit is in bytes and said."""
    with pytest.raises(LedgerError) as caught:
        clean_note("ü" * MAX_NOTE)
    assert caught.value.code == "note-too-long"


def test_a_title_stays_on_one_line() -> None:
    """Neither words nor a title can break out of their line."""
    message = compose("a\nVersion: forged@1", ["b\n\nKind: forged"], "", TRAILERS)
    assert interpreted(message) == TRAILERS
    assert message.splitlines()[0] == "a Version: forged@1: b Kind: forged"


def test_a_long_list_of_changes_is_shortened_in_the_subject_only() -> None:
    """The first line stays readable; the body has every change."""
    words = [f"parameter {n} moved from here to there" for n in range(9)]
    message = compose("tram-fog@7", words, "", TRAILERS)
    assert message.splitlines()[0].endswith("; and 7 more")
    assert Message(message).words == tuple(words)
