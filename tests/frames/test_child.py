"""The decoder child and its parent's side: what goes wrong in there costs one frame."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from driftline.errors import FrameError
from driftline.frames.child import Child, Decoder, Limits, ask_decoder, set_limits

PATIENCE = 20.0


@pytest.fixture
def decoder() -> Iterator[Decoder]:
    """A decoder of the test's own, ended afterwards."""
    decoder = Decoder(Limits(seconds=30))
    yield decoder
    decoder.close()


@pytest.fixture
def endless(tmp_path: Path) -> Path:
    """A file that never opens: a pipe that nobody writes to, so that whoever opens it hangs."""
    path = tmp_path / "endless.dng"
    os.mkfifo(path)
    return path


def until(condition: Callable[[], bool]) -> bool:
    """Whether something comes true before patience ends."""
    deadline = time.monotonic() + PATIENCE
    while not condition():
        if time.monotonic() > deadline:
            return False
        time.sleep(0.02)
    return True


def gone(pid: int) -> bool:
    """Whether a process runs no longer (one that waits to be collected counts as gone)."""
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except FileNotFoundError:
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            return True
        return False
    return state == "Z"


def test_pixels_arrive_bit_for_bit(
    decoder: Decoder, dng: Callable[..., Path], mosaic: NDArray[np.uint16]
) -> None:
    """What was written into the file is what comes through the shared memory, writable and our own."""
    answer = decoder.ask(dng(), "sensor")
    values = answer.arrays["values"]
    assert np.array_equal(values, mosaic)
    assert values.flags.owndata
    assert values.flags.writeable


def test_one_child_serves_many_frames(decoder: Decoder, dng: Callable[..., Path]) -> None:
    """The child lives on, also after a file that it cannot open, and answers do not mix."""
    bad = dng(name="bad.dng").with_name("text.dng")
    bad.write_text("no raw file")
    small, large = dng(np.full((30, 40), 700, np.uint16), name="s.dng"), dng(name="l.dng")
    pids, shapes = set(), []
    for path in (small, bad, large, small):
        answer = decoder.ask(path, "sensor")
        pids.add(decoder.pid)
        shapes.append(None if answer.failed else answer.arrays["values"].shape)
    assert len(pids) == 1
    assert shapes == [(30, 40), None, (120, 160), (30, 40)]


def test_a_hang_ends_and_the_next_frame_decodes(
    decoder: Decoder, dng: Callable[..., Path], endless: Path
) -> None:
    """A child that does not answer in time is ended, named as the reason, and replaced."""
    decoder.change_limits(Limits(seconds=0.5))
    with pytest.raises(FrameError, match=r"no answer within 0\.5 s") as caught:
        decoder.ask(endless, "sensor")
    assert caught.value.code == "frame-decoder-lost"
    decoder.change_limits(Limits())
    assert decoder.ask(dng(), "sensor").failed is None


@pytest.mark.parametrize("kind", [signal.SIGKILL, signal.SIGSEGV, signal.SIGABRT])
def test_a_crash_costs_one_frame(
    decoder: Decoder, dng: Callable[..., Path], endless: Path, kind: signal.Signals
) -> None:
    """A child that dies in the middle of a frame fails that frame, and another takes its place."""
    first = dng()
    decoder.ask(first, "sensor")
    pid = decoder.pid
    assert pid is not None
    threading.Timer(0.3, os.kill, (pid, kind)).start()
    with pytest.raises(FrameError, match=kind.name) as caught:
        decoder.ask(endless, "sensor")
    assert caught.value.code == "frame-decoder-lost"
    assert decoder.ask(first, "sensor").failed is None
    assert decoder.pid != pid


def test_a_child_killed_between_frames_is_replaced(decoder: Decoder, dng: Callable[..., Path]) -> None:
    """Nobody notices a child that died while it was idle."""
    decoder.ask(dng(), "sensor")
    pid = decoder.pid
    assert pid is not None
    os.kill(pid, signal.SIGKILL)
    assert until(lambda: gone(pid))
    assert decoder.ask(dng(), "sensor").failed is None


def test_threads_take_turns(dng: Callable[..., Path]) -> None:
    """Eight threads with frames of their own each get their own frame."""
    frames = {
        number: dng(np.full((30, 40), 700 + number, np.uint16), name=f"{number}.dng") for number in range(8)
    }
    got: dict[int, int] = {}

    def decode(number: int) -> None:
        for _ in range(5):
            got[number] = int(ask_decoder(frames[number], "sensor").arrays["values"][3, 3])

    threads = [threading.Thread(target=decode, args=(number,)) for number in frames]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert got == {number: 700 + number for number in frames}


def test_an_interrupt_does_not_mix_up_answers(
    decoder: Decoder, dng: Callable[..., Path], endless: Path
) -> None:
    """After ctrl-c in the middle of a frame the next frame gets its own answer."""
    decoder.ask(dng(), "sensor")
    main = threading.main_thread().ident
    assert main is not None
    before = signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background job ignores it
    threading.Timer(0.3, signal.pthread_kill, (main, signal.SIGINT)).start()
    with pytest.raises(KeyboardInterrupt):
        decoder.ask(endless, "sensor")
    signal.signal(signal.SIGINT, before)
    assert decoder.ask(dng(), "sensor").arrays["values"].shape == (120, 160)


def test_ctrl_c_at_the_terminal_leaves_the_child_alone(decoder: Decoder, dng: Callable[..., Path]) -> None:
    """The terminal's interrupt reaches the whole group; the child leaves it to its parent."""
    decoder.ask(dng(), "sensor")
    assert decoder.pid is not None
    os.kill(decoder.pid, signal.SIGINT)
    pid = decoder.pid
    decoder.ask(dng(), "sensor")
    assert decoder.pid == pid


def test_a_fork_gets_a_child_of_its_own(dng: Callable[..., Path]) -> None:
    """After a fork both processes decode, each through its own child."""
    path = dng()
    ask_decoder(path, "sensor")
    script = (
        "import os, sys\n"
        "from driftline.frames import child\n"
        f"ask = lambda: child.ask_decoder(child.Path({str(path)!r}), 'sensor').arrays['values'].shape\n"
        "before = ask(); mine = child._decoder.pid\n"
        "pid = os.fork()\n"
        "ok = ask() == before == (120, 160) and (child._decoder.pid == mine) == bool(pid)\n"
        "if pid: ok = ok and os.waitpid(pid, 0)[1] == 0\n"
        "sys.exit(0 if ok else 1)\n"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.parametrize("busy", [False, True])
def test_no_child_outlives_its_parent(dng: Callable[..., Path], endless: Path, busy: bool) -> None:
    """A parent that is killed takes its child with it, be it idle or in the middle of a frame."""
    path = dng()
    script = (
        "import time\n"
        "from driftline.frames import child\n"
        f"child.ask_decoder(child.Path({str(path)!r}), 'sensor')\n"
        "print(child._decoder.pid, flush=True)\n"
        + (f"child.ask_decoder(child.Path({str(endless)!r}), 'sensor')\n" if busy else "time.sleep(60)\n")
    )
    parent = subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, text=True)
    assert parent.stdout is not None
    pid = int(parent.stdout.readline())
    time.sleep(0.3)
    parent.kill()
    parent.wait()
    parent.stdout.close()
    assert until(lambda: gone(pid))


def test_nothing_is_left_behind(tmp_path: Path, dng: Callable[..., Path]) -> None:
    """A program that decodes and ends says nothing on standard error and leaves no file."""
    path, scratch = dng(), tmp_path / "scratch"
    scratch.mkdir()
    script = f"from driftline.frames import RawFrame; RawFrame({str(path)!r}).sensor()"
    shared = set(os.listdir("/dev/shm")) if Path("/dev/shm").is_dir() else set()
    done = subprocess.run(
        [sys.executable, "-W", "error", "-X", "dev", "-c", script],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "TMPDIR": str(scratch)},
    )
    assert (done.returncode, done.stderr, done.stdout) == (0, "", "")
    assert os.listdir(scratch) == []
    assert not Path("/dev/shm").is_dir() or set(os.listdir("/dev/shm")) <= shared


def test_a_folder_with_names_of_our_modules_does_no_harm(
    tmp_path: Path, dng: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The child never imports from the folder the user happens to be in."""
    path = dng()
    for name in ("numpy.py", "rawpy.py", "driftline.py", "json.py"):
        (tmp_path / name).write_text("raise SystemExit(3)\n")
    monkeypatch.chdir(tmp_path)
    fresh = Child(Limits())
    try:
        assert fresh.ask(path, "sensor").failed is None
    finally:
        fresh.close()


def test_the_child_loads_little() -> None:
    """Neither compiled kernels, nor colour science, nor the command line, nor EXIF readers in the child."""
    heavy = ["numba", "colour", "typer", "scipy", "pydantic", "git", "exifread", "tifffile", "PIL"]
    script = f"import sys, driftline.frames.decoder; print([n for n in {heavy!r} if n in sys.modules])"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_limits_come_back() -> None:
    """Changing the limits of the process's decoder gives those there were."""
    before = set_limits(Limits(seconds=5))
    assert set_limits(before) == Limits(seconds=5)


def test_memory_has_a_limit(dng: Callable[..., Path]) -> None:
    """A frame that needs more memory than the child may have fails as too large, and the child lives."""
    path = dng(compression="none")
    blob = path.read_bytes()
    for tag, value in ((256, 19_000), (257, 20_000)):
        entry = np.array([tag, 4], "<u2").tobytes() + np.array([1], "<u4").tobytes()
        place = blob.index(entry) + len(entry)
        blob = blob[:place] + np.array([value], "<u4").tobytes() + blob[place + 4 :]
    path.with_name("huge.dng").write_bytes(blob)
    small = Child(Limits(memory_bytes=700 * 1024**2))
    try:
        failed = small.ask(path.with_name("huge.dng"), "sensor").failed
        assert failed is not None
        assert failed["kind"] == "memory"
        assert small.ask(path, "sensor").failed is None
    finally:
        small.close()
