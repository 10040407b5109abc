"""The shoots that looks were used on."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from driftline.ledger import Ledger, Record
from driftline.pages.record import gathered, shoots_of


def line(run: str, frame: str, ref: str = "tram-fog@1", **more: Any) -> Record:
    """One line of the record."""
    return Record(2031, run, {"frame": frame, "ref": ref, "name": f"{frame}.dng", "print": "x.jpg", **more})


def test_runs_of_one_folder_are_one_shoot() -> None:
    """Printed on two days with two versions: one shoot, its days, and each frame once a version."""
    (shoot,) = gathered(
        [
            line("0412-101500-77", "a", shoot="harbour"),
            line("0412-101500-77", "b", shoot="harbour"),
            line("0415-090000-80", "a", "tram-fog@2", shoot="harbour"),
            line("0415-090000-80", "a", "tram-fog@2", shoot="harbour", print="again.jpg"),
        ]
    )
    assert (shoot.name, shoot.first, shoot.last) == ("harbour", date(2031, 4, 12), date(2031, 4, 15))
    assert shoot.frames == {"tram-fog@1": 2, "tram-fog@2": 1}
    assert shoot.of("tram-fog") == shoot.frames
    assert shoot.of("quay-dusk") == {}


def test_a_record_from_before_shoots_were_written_down_goes_by_runs() -> None:
    """Two runs without a folder are two shoots, told by their frames, or by the name a person gave."""
    later, named = gathered(
        [line("0412-harbour", "z"), line("0501-101500-7", "a"), line("0501-101500-7", "c")]
    )
    assert (later.name, later.between, later.first) == ("", ("a.dng", "c.dng"), date(2031, 5, 1))
    assert (named.name, named.first) == ("harbour", date(2031, 4, 12))


def test_what_is_no_print_is_passed_over() -> None:
    """Frames set aside, and lines that say something else, are no use of a look; odd runs keep their name."""
    aside = Record(2031, "set-aside", {"frame": "a", "state": "set-aside"})
    odd = line("summer", "b")
    (shoot,) = gathered([aside, Record(2031, "0101-x", {"ref": 3}), odd, line("9999-x", "c", shoot="summer")])
    assert (shoot.name, shoot.first, shoot.frames) == ("summer", None, {"tram-fog@1": 2})


def test_a_record_that_cannot_be_read_is_said(tmp_path: Path) -> None:
    """The pages go on without it, and give the file and the line."""
    ledger = Ledger.create(tmp_path / "looks", {"tram-fog": "[exposure]\nev = 0.1\n"})
    ledger.record_run(2031, "0412-101500-7", [{"frame": "a", "ref": "tram-fog@1", "shoot": "harbour"}])
    assert [shoot.name for shoot in shoots_of(ledger)[0]] == ["harbour"]
    file = ledger.path / "prints/2031/0412-101500-7.jsonl"
    file.write_text("no json\n")
    _commit(ledger.path)
    shoots, trouble = shoots_of(ledger)
    assert shoots == ()
    assert "line 1: not a JSON object" in trouble


def _commit(folder: Path) -> None:
    import subprocess

    who = ("-c", "user.name=A Tester", "-c", "user.email=tester@example.org")
    subprocess.run(["git", "-C", folder, *who, "commit", "-qam", "an edit by hand"], check=True)
