"""Broken frames, full disks, killed runs: what may fail fails alone, and what is there is whole.

Small by default; DRIFTLINE_DEEP=1 prints 1,000 frames of which 50 are broken, and kills 20 runs.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from batch.shoot import FORM, LOOK, contents, write_frame, write_shoot
from batch.tricks import alive
from driftline.batch.order import Decoding
from driftline.batch.run import run_batch
from driftline.prints import read_provenance

DEEP = bool(os.environ.get("DRIFTLINE_DEEP"))
FRAMES, BROKEN_EACH, KILLS = (1000, 5, 20) if DEEP else (20, 1, 1)


def truncated(path: Path, chance: random.Random) -> None:
    """Cut at a random place in the sensor data or before (they end at about three quarters of the file)."""
    content = path.read_bytes()
    path.write_bytes(content[: chance.randrange(1, len(content) * 2 // 3)])


def zeroed(path: Path, _: random.Random) -> None:
    """The second half is zeros, as a card leaves it."""
    content = path.read_bytes()
    path.write_bytes(content[: len(content) // 8] + bytes(len(content) - len(content) // 8))


def text(path: Path, _: random.Random) -> None:
    """A letter under a raw suffix."""
    path.write_text("dear diary\n" * 40)


def renamed_jpeg(path: Path, _: random.Random) -> None:
    """A JPEG under a raw suffix."""
    Image.new("RGB", (40, 30), "teal").save(path, "JPEG")


def folder(path: Path, _: random.Random) -> None:
    """A folder under a raw suffix."""
    path.unlink()
    path.mkdir()


def dead_link(path: Path, _: random.Random) -> None:
    """A link to nothing."""
    path.unlink()
    path.symlink_to(path.with_suffix(".gone"))


def not_readable(path: Path, _: random.Random) -> None:
    """A file without permission; for root, who may read all, a pipe, on which a reader would hang."""
    if os.geteuid():
        path.chmod(0)
    else:
        path.unlink()
        os.mkfifo(path)


def empty(path: Path, _: random.Random) -> None:
    """Zero bytes."""
    path.write_bytes(b"")


def absurd_size(path: Path, _: random.Random) -> None:
    """A header that claims 4 billion columns."""
    content = path.read_bytes()
    width = bytes.fromhex("0001040001000000") + (64).to_bytes(4, "little")
    assert width in content
    path.write_bytes(content.replace(width, width[:8] + b"\xff\xff\xff\xff"))


def hanging(path: Path, _: random.Random) -> None:
    """A file on which the decoder hangs (see ``HANG``: it does so for every file with this in its name)."""
    path.rename(path.with_name(path.name.replace("quay", "hanging")))


HANG = """
import sys, time
if "driftline.frames.decoder" in " ".join(sys.orig_argv):
    from driftline.frames import wire
    real = wire.take_message
    def take_message(take):
        message = real(take)
        if "hanging" in message["path"]:
            time.sleep(3600)
        return message
    wire.take_message = take_message
"""

WAYS: list[Callable[[Path, random.Random], None]] = [
    truncated, zeroed, text, renamed_jpeg, folder, dead_link, not_readable, empty, absurd_size, hanging,
]  # fmt: skip


def test_broken_frames_cost_themselves(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten ways of being broken: every good frame has its print, every bad one its reason."""
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "sitecustomize.py").write_text(HANG)
    monkeypatch.setenv("PYTHONPATH", str(tmp_path / "site"))
    frames = write_shoot(tmp_path / "shoot", FRAMES)
    chance = random.Random(11)
    broken = chance.sample(frames, BROKEN_EACH * len(WAYS))
    for number, frame in enumerate(broken):
        WAYS[number % len(WAYS)](frame, chance)
    hanging_ones = {frame: frame.with_name(frame.name.replace("quay", "hanging")) for frame in broken}
    frames = [frame if os.path.lexists(frame) else hanging_ones[frame] for frame in frames]
    shoot = tmp_path / "shoot"
    result = run_batch(LOOK, [shoot], tmp_path / "out", FORM, workers=2, decoding=Decoding(seconds=2.0))
    bad = [frame for frame in frames if frame in broken or "hanging" in frame.name]
    assert [one.frame for one in result.failed] == sorted(map(str, bad))
    assert len(result.prints) == len(os.listdir(tmp_path / "out")) == FRAMES - len(broken)
    assert result.exit_status == 1
    assert all(read_provenance(Path(one.path)).intact for one in result.prints)
    for one in result.failed:
        assert Path(one.frame).name in one.reason, one
        assert one.code not in {"unexpected", "worker-lost"}, one
        assert ("hanging" in one.frame) == (one.code == "frame-decoder-lost"), one


def test_failed_frames_are_tried_again(tmp_path: Path) -> None:
    """A frame that was repaired is printed by the next run, the others are not."""
    frames = write_shoot(tmp_path / "shoot", 2)
    frames[0].write_bytes(b"")
    assert run_batch(LOOK, frames, tmp_path / "out", FORM, workers=1).exit_status == 1
    write_frame(frames[0], 1)
    result = run_batch(LOOK, frames, tmp_path / "out", FORM, workers=1)
    assert ([one.frame for one in result.prints], result.skipped) == ([str(frames[0])], 1)


RUN = """
import sys
from batch.shoot import FORM, LOOK
from driftline.batch.run import run_batch
run_batch(LOOK, [sys.argv[1]], sys.argv[2], FORM, workers=2)
"""


def start(shoot: Path, out: Path) -> subprocess.Popen[bytes]:
    """A run as a program with a process group of its own."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    return subprocess.Popen(
        [sys.executable, "-c", RUN, shoot, out],
        env=environment,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )


def family(pid: int) -> list[int]:
    """A process's children and theirs."""
    listing = subprocess.run(["ps", "-eo", "pid=,ppid="], capture_output=True, text=True, check=True).stdout
    children: dict[int, list[int]] = {}
    for line in listing.splitlines():
        child, parent = map(int, line.split())
        children.setdefault(parent, []).append(child)
    found, wave = [], [pid]
    while wave:
        wave = [child for parent in wave for child in children.get(parent, [])]
        found += wave
    return found


@pytest.mark.parametrize("way", ["parent", "group", "ctrl-c"])
def test_killed_runs_leave_whole_prints_and_are_resumed(tmp_path: Path, way: str) -> None:
    """Killed at random moments, parent alone or whole group: no half print, no process left, and in the end
    the folder equals that of an undisturbed run, byte for byte.
    """
    shoot = tmp_path / "shoot"
    write_shoot(shoot, 8)
    run_batch(LOOK, [shoot], tmp_path / "calm", FORM, workers=2)
    chance, out = random.Random(way), tmp_path / "out"
    for _ in range(KILLS):
        program = start(shoot, out)
        there, enough = len(list(out.glob("*.jpg"))), chance.choice([0, 0, 1, 2])
        while program.poll() is None and len(list(out.glob("*.jpg"))) < min(there + enough, 8):
            time.sleep(0.005)
        time.sleep(chance.uniform(0, 0.3 if enough else 2.0))
        relatives = family(program.pid)
        if way == "parent":
            program.kill()
        else:
            os.killpg(program.pid, signal.SIGKILL if way == "group" else signal.SIGINT)
        program.wait()
        deadline = time.monotonic() + 10
        while any(map(alive, relatives)) and time.monotonic() < deadline:
            time.sleep(0.05)
        assert not any(map(alive, relatives))
        assert all(read_provenance(path).intact for path in out.glob("*.jpg"))
    result = run_batch(LOOK, [shoot], out, FORM, workers=2)
    assert (result.exit_status, len(result.prints) + result.skipped) == (0, 8)
    assert contents(out) == contents(tmp_path / "calm")


def test_a_second_run_into_the_folder_is_refused(tmp_path: Path) -> None:
    """Two runs at once: the second does nothing and says why; the first finishes."""
    shoot, out = tmp_path / "shoot", tmp_path / "out"
    write_shoot(shoot, 6)
    program = start(shoot, out)
    while not (out / ".driftline-run").exists():
        assert program.poll() is None
        time.sleep(0.02)
    with pytest.raises(Exception, match="another run is printing into this folder"):
        run_batch(LOOK, [shoot], out, FORM, workers=1)
    assert program.wait() == 0
    assert len(os.listdir(out)) == 6


FULL_DISK = """
import errno, os, sys
if "driftline.batch.worker" in " ".join(sys.orig_argv):
    real, calls = os.fsync, [0]
    def fsync(descriptor):
        calls[0] += 1
        if calls[0] > 4:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(descriptor)
    os.fsync = fsync
"""


def test_a_full_disk_costs_frames_and_leaves_no_rest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The disk is full after two prints: those are whole, the others fail so, and no part stays."""
    frames = write_shoot(tmp_path / "shoot", 4)
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "sitecustomize.py").write_text(FULL_DISK)
    monkeypatch.setenv("PYTHONPATH", str(tmp_path / "site"))
    result = run_batch(LOOK, frames, tmp_path / "out", FORM, workers=1)
    assert [one.code for one in result.failed] == ["disk-full"] * 2
    assert len(result.prints) == len(os.listdir(tmp_path / "out")) == 2
    assert all(read_provenance(Path(one.path)).intact for one in result.prints)
