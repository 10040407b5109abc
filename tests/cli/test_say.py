"""What is printed, whatever is in it."""

from __future__ import annotations

import json

import pytest

from driftline.cli import say


def test_what_steers_a_terminal_is_shown_by_its_number() -> None:
    """A note or a file name from anyone cannot clear the screen, hide text or turn it round."""
    assert say.shown("a\x1b[2Jb\r\x07\u202ec") == "a\\x1b[2Jb\\r\\x07\\u202ec"
    assert say.shown("Nebel über dem Kai → 霧 🌫") == "Nebel über dem Kai → 霧 🌫"


def test_a_file_name_that_is_no_text_is_still_json(capsys: pytest.CaptureFixture[str]) -> None:
    """Bytes of a file name that are no UTF-8 come out as escapes that every JSON reader takes."""
    say.document({"path": "quay-\udcff.dng"})
    assert json.loads(capsys.readouterr().out) == {"path": "quay-\udcff.dng"}


def test_columns_are_aligned() -> None:
    """Each column is as wide as its widest cell; numbers stand to the right; no spaces at the end."""
    rows = [("white", "+12", "mired"), ("exposure", "+0.35", "")]
    assert say.table(rows, right=[1]) == ["white       +12  mired", "exposure  +0.35"]
    assert say.table([]) == []


def test_a_remark_of_several_lines_stays_a_remark(capsys: pytest.CaptureFixture[str]) -> None:
    """Remarks are on standard error; none is said for no text."""
    say.remark("")
    say.remark("one\ntwo")
    said = capsys.readouterr()
    assert (said.out, said.err) == ("", "note: one\ntwo\n")


def test_what_is_no_json_is_never_printed_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    """NaN is not in RFC 8259 (section 6); it is found as a defect instead of reaching a reader."""
    with pytest.raises(ValueError, match="JSON"):
        say.document({"edit": float("nan")})
    assert capsys.readouterr().out == ""
