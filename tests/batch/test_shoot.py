"""A shoot looked over: read once, found again, and told with the ledger's record."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from datetime import datetime
from pathlib import Path

import pytest

from batch.shoot import write_frame, write_shoot
from driftline.batch import apply, look_over, scan, set_aside
from driftline.batch.pool import WorkerPool
from driftline.frames import RawFrame, Sight, list_frames
from driftline.ledger import Ledger, Record

DUSK = "[curve]\nslope = 1.1\n"


@pytest.fixture(scope="module")
def pool() -> Iterator[WorkerPool]:
    """One pool of two workers for the whole file."""
    with WorkerPool(2) as opened:
        yield opened


@pytest.fixture
def ledger(tmp_path: Path) -> Ledger:
    """A ledger with one recipe."""
    return Ledger.create(tmp_path / "looks", {"dusk": DUSK})


@pytest.fixture
def shoot(tmp_path: Path) -> Path:
    """A folder with four frames."""
    write_shoot(tmp_path / "shoot", 4)
    return tmp_path / "shoot"


class Reads:
    """Counts what is read of frames: headers, quick and full fingerprints."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.headers: list[str] = []
        self.quick: list[str] = []
        self.full: list[str] = []
        look, quick, full = scan.sight, RawFrame.quick_fingerprint, RawFrame.fingerprint

        def looked(path: Path, jpegs: list[str]) -> Sight:
            self.headers.append(path.name)
            return look(path, jpegs)

        def quickly(frame: RawFrame) -> str:
            self.quick.append(frame.path.name)
            return quick(frame)

        def fully(frame: RawFrame) -> str:
            self.full.append(frame.path.name)
            return full(frame)

        monkeypatch.setattr(scan, "sight", looked)
        monkeypatch.setattr(RawFrame, "quick_fingerprint", quickly)
        monkeypatch.setattr(RawFrame, "fingerprint", fully)

    def taken(self) -> tuple[list[str], list[str], list[str]]:
        """Sorted names since the last time."""
        told = sorted(self.headers), sorted(self.quick), sorted(self.full)
        for names in (self.headers, self.quick, self.full):
            names.clear()
        return told


@pytest.fixture
def reads(monkeypatch: pytest.MonkeyPatch) -> Reads:
    """What is read from here on."""
    return Reads(monkeypatch)


def states(path: Path, ledger: Ledger | None) -> dict[str, tuple[str, str | None]]:
    """State and version of each frame, by name."""
    return {one.path.name: (one.state, one.ref) for one in look_over([path], ledger).frames}


def test_nothing_is_read_twice(shoot: Path, ledger: Ledger, reads: Reads) -> None:
    """First every header; then none; then those of new and changed frames alone. No fingerprint is needed."""
    names = [path.name for path in list_frames([shoot])]
    look_over([shoot], ledger)
    assert reads.taken() == (names, [], [])
    look_over([shoot], ledger)
    assert reads.taken() == ([], [], [])
    write_frame(shoot / "new.dng", 50)
    write_frame(shoot / "quay-02.dng", 51)
    (shoot / "quay-01.dng").unlink()
    found = look_over([shoot], ledger)
    assert reads.taken() == (["new.dng", "quay-02.dng"], [], [])
    assert [one.path.name for one in found.frames] == ["new.dng", "quay-02.dng", "quay-03.dng", "quay-04.dng"]


def test_a_jpeg_that_comes_later_is_noticed(shoot: Path, ledger: Ledger, reads: Reads) -> None:
    """The pair is part of what must not have changed."""
    look_over([shoot], ledger)
    reads.taken()
    (shoot / "QUAY-02.JPG").write_bytes(b"no jpeg")
    (found,) = [one for one in look_over([shoot], ledger).frames if one.unpaired]
    assert reads.taken()[0] == ["quay-02.dng"]
    assert (found.path.name, found.unpaired) == (
        "quay-02.dng",
        "QUAY-02.JPG beside it cannot be read: it is no JPEG",
    )


def test_a_renamed_frame_is_not_read_again(shoot: Path, ledger: Ledger, reads: Reads) -> None:
    """Renamed, or moved on its disk, it is the same file."""
    look_over([shoot], ledger)
    reads.taken()
    (shoot / "best").mkdir()
    (shoot / "quay-03.dng").rename(shoot / "best" / "tram.dng")
    assert "tram.dng" in states(shoot, ledger)
    assert reads.taken() == ([], [], [])


def test_printed_frames_are_found_wherever_they_are(
    shoot: Path, ledger: Ledger, reads: Reads, tmp_path: Path, pool: WorkerPool
) -> None:
    """Renamed, copied to another disk, with the index thrown away: by fingerprint, and no more is read than
    the quick one of frames that have the size of a printed one, and the full one of those that agree in it.
    """
    frames = list_frames([shoot])
    apply(ledger, "dusk", frames[:2], tmp_path / "out", pool=pool)
    backup = tmp_path / "backup"
    backup.mkdir()
    for number, frame in enumerate(frames):
        shutil.copyfile(frame, backup / f"other-{number}.dng")
    (ledger.private / "frames.sqlite").unlink()
    reads.taken()
    found = states(backup, ledger)
    assert [state for state, _ in found.values()] == ["printed", "printed", "undeveloped", "undeveloped"]
    sizes = {frame.stat().st_size for frame in frames[:2]}
    alike = [name for name in found if (backup / name).stat().st_size in sizes]
    assert reads.taken() == (sorted(found), alike, ["other-0.dng", "other-1.dng"])
    states(backup, ledger)
    assert reads.taken() == ([], [], [])


def test_a_run_tells_the_index(
    shoot: Path, ledger: Ledger, reads: Reads, tmp_path: Path, pool: WorkerPool
) -> None:
    """What a run has read in full is not read in full once more."""
    apply(ledger, "dusk", [shoot], tmp_path / "out", pool=pool)
    reads.taken()
    assert {state for state, _ in states(shoot, ledger).values()} == {"printed"}
    assert reads.taken() == ([], [], [])


def test_a_record_of_the_full_fingerprint_alone(shoot: Path, ledger: Ledger) -> None:
    """Records that say no more than the fingerprint are found, too."""
    line = {"frame": RawFrame(shoot / "quay-02.dng").fingerprint(), "ref": "dusk@1"}
    ledger.record_run(2031, "first", [line])
    assert states(shoot, ledger)["quay-02.dng"] == ("printed", "dusk@1")


def test_the_record_is_read_once(shoot: Path, ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """As long as it stays what it is; with one more line, with a damaged digest and without an index anew."""
    count = [0]
    printed = Ledger.printed

    def counted(self: Ledger) -> Iterator[Record]:
        count[0] += 1
        return printed(self)

    monkeypatch.setattr(Ledger, "printed", counted)
    lines = [{"frame": RawFrame(path).fingerprint(), "ref": "dusk@1"} for path in list_frames([shoot])]
    ledger.record_run(2031, "first", lines[:1])
    for _ in range(3):
        assert [state for state, _ in states(shoot, ledger).values()] == ["printed", *["undeveloped"] * 3]
    assert count == [1]
    ledger.record_run(2031, "second", lines[1:2])
    for _ in range(2):
        assert [state for state, _ in states(shoot, ledger).values()][:2] == ["printed"] * 2
    assert count == [2]
    with sqlite3.connect(ledger.private / "frames.sqlite") as database:
        database.execute("UPDATE digested SET content = '[]'")
    database.close()
    assert [state for state, _ in states(shoot, ledger).values()][:2] == ["printed"] * 2
    (ledger.private / "frames.sqlite").unlink()
    assert [state for state, _ in states(shoot, ledger).values()][:2] == ["printed"] * 2
    assert count == [4]


def test_an_older_version_is_a_fact_and_no_backlog(shoot: Path, ledger: Ledger) -> None:
    """Printed with @1, now @2: told with both, and nothing waits for it."""
    lines = [{"frame": RawFrame(path).fingerprint(), "ref": "dusk@1"} for path in list_frames([shoot])]
    ledger.record_run(2031, "first", lines)
    ledger.save("dusk", DUSK.replace("1.1", "1.2"))
    found = look_over([shoot], ledger)
    assert {(one.state, one.ref, one.now) for one in found.frames} == {("printed", "dusk@1", "dusk@2")}
    assert found.backlog(datetime(2031, 3, 12)) == "nothing waits"
    again = [{**line, "ref": "dusk@2"} for line in lines[:1]]
    ledger.record_run(2031, "second", again)
    newest = look_over([shoot], ledger).frames[0]
    assert (newest.ref, newest.now) == ("dusk@2", None)


def test_closing_a_shoot(shoot: Path, ledger: Ledger) -> None:
    """What waits is set aside, found again by content under any name, and what is new waits."""
    assert set_aside([shoot], ledger) == 4
    (shoot / "quay-01.dng").rename(shoot / "tram.dng")
    write_frame(shoot / "new.dng", 60)
    found = {name: state for name, (state, _) in states(shoot, ledger).items()}
    assert found.pop("new.dng") == "undeveloped"
    assert set(found.values()) == {"set-aside"}
    assert set_aside([shoot / "new.dng"], ledger) == 1
    assert set_aside([shoot], ledger) == 0


def test_frames_that_cannot_be_read_are_counted_apart(shoot: Path, ledger: Ledger) -> None:
    """They are no backlog, stop nothing, and are told with what is wrong, each time."""
    (shoot / "quay-02.dng").write_bytes(b"")
    (shoot / "quay-03.dng").write_text("dear diary\n" * 40)
    for _ in range(2):
        found = look_over([shoot], ledger)
        assert found.counts == {"undeveloped": 2, "printed": 0, "set-aside": 0, "unreadable": 2}
        assert [bool(one.problem) for one in found.frames] == [False, True, True, False]
        assert found.backlog(datetime(2031, 3, 12, 12)) == "2 of 4 frames wait, the oldest for 3 days"
    assert set_aside([shoot], ledger) == 2
    assert look_over([shoot], ledger).backlog(datetime(2031, 3, 12)) == "nothing waits"


def test_two_cards_with_one_numbering(tmp_path: Path, ledger: Ledger) -> None:
    """Equal names in two folders are two frames, and neither takes the other's JPEG or state."""
    for card, seed in (("a", 1), ("b", 2)):
        (tmp_path / "cards" / card).mkdir(parents=True)
        write_frame(tmp_path / "cards" / card / "quay-01.dng", seed)
    (tmp_path / "cards" / "b" / "quay-01.jpg").write_bytes(b"no jpeg")
    line = {"frame": RawFrame(tmp_path / "cards" / "a" / "quay-01.dng").fingerprint(), "ref": "dusk@1"}
    ledger.record_run(2031, "first", [line])
    first, second = look_over([tmp_path / "cards"], ledger).frames
    assert (first.state, first.unpaired) == ("printed", "")
    assert (second.state, second.unpaired) == (
        "undeveloped",
        "quay-01.jpg beside it cannot be read: it is no JPEG",
    )


def test_relative_and_absolute_paths_are_the_same_frames(
    shoot: Path, ledger: Ledger, reads: Reads, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From another folder, by another way, nothing is read again; paths are told as they were asked for."""
    look_over([shoot], ledger)
    reads.taken()
    monkeypatch.chdir(shoot.parent)
    found = look_over([Path("shoot/../shoot")], ledger)
    assert str(found.frames[0].path) == "shoot/../shoot/quay-01.dng"
    one = look_over([Path("shoot/quay-02.dng")], ledger)
    assert [frame.path.name for frame in one.frames] == ["quay-02.dng"]
    assert len(look_over(["shoot", shoot, "shoot/quay-02.dng"], ledger).frames) == 8
    monkeypatch.chdir(shoot)
    for here in (".", "..", "../shoot"):
        assert [frame.exposure.iso for frame in look_over([here], ledger).frames] == [400] * 4
    assert reads.taken() == ([], [], [])


def test_a_name_that_is_no_text(shoot: Path, ledger: Ledger, reads: Reads) -> None:
    """Old cards and other systems leave such names: read once, found again, and told by its number."""
    odd = shoot / os.fsdecode(b"caf\xe9.dng")
    shutil.copyfile(shoot / "quay-01.dng", odd)
    for _ in range(2):
        assert odd in [one.path for one in look_over([shoot], ledger).frames]
        assert [one.exposure.iso for one in look_over([shoot], ledger).frames] == [400] * 5
    assert len(reads.taken()[0]) == 5


def test_a_folder_where_a_file_was(shoot: Path, ledger: Ledger, reads: Reads) -> None:
    """The index forgets the file, and knows the folder's frames from then on."""
    look_over([shoot / "quay-01.dng"], ledger)
    (shoot / "quay-01.dng").unlink()
    write_shoot(shoot / "quay-01.dng", 2)
    for _ in range(2):
        assert len(look_over([shoot / "quay-01.dng"], ledger).frames) == 2
    reads.taken()
    assert len(look_over([shoot / "quay-01.dng"], ledger).frames) == 2
    assert reads.taken() == ([], [], [])


LOOK = """
import sys
from driftline.batch import look_over
from driftline.ledger import Ledger, Record
for _ in range(6):
    assert len(look_over([sys.argv[1]], Ledger.open(sys.argv[2])).frames) == 40
"""


def test_two_at_once(tmp_path: Path, ledger: Ledger) -> None:
    """Three programs look over the shoot at once, from nothing: each tells all of it."""
    write_shoot(tmp_path / "many", 40)
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    command = [sys.executable, "-c", LOOK, str(tmp_path / "many"), str(ledger.path)]
    programs = [subprocess.Popen(command, env=environment) for _ in range(3)]
    assert [program.wait() for program in programs] == [0, 0, 0]
