"""Workers that do as asked, die, hang, grow, and lose their parent."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from batch import tricks
from driftline.batch.pool import Limits, WorkerPool
from driftline.errors import FrameError


@pytest.fixture(scope="module")
def pool() -> Iterator[WorkerPool]:
    """One pool of two workers for the whole file."""
    before = os.environ.get("PYTHONPATH")
    os.environ["PYTHONPATH"] = str(Path(__file__).resolve().parents[1])
    with WorkerPool(2, limits=Limits(seconds=20)) as opened:
        yield opened
    if before is None:
        del os.environ["PYTHONPATH"]
    else:
        os.environ["PYTHONPATH"] = before


def code_of(pool: WorkerPool, trick: object, *arguments: object) -> str:
    """The code of the error that a call ends with."""
    with pytest.raises(FrameError) as caught:
        pool.submit(trick, *arguments).result()  # type: ignore[arg-type]
    return caught.value.code


def test_results_belong_to_their_calls(pool: WorkerPool) -> None:
    """Many calls over two workers: each future holds its own answer."""
    futures = [pool.submit(tricks.double, n) for n in range(50)]
    assert [future.result() for future in futures] == [2 * n for n in range(50)]


def test_workers_are_other_processes_and_stay(pool: WorkerPool) -> None:
    """No call runs in this process, and workers are used again."""
    pids = {pool.submit(tricks.process_number).result() for _ in range(12)}
    assert os.getpid() not in pids
    assert len(pids) <= 2


def test_a_crash_costs_its_call(pool: WorkerPool) -> None:
    """The call ends with the signal and the last words; calls beside it and after it are answered."""
    beside = [pool.submit(tricks.double, n) for n in range(3)]
    with pytest.raises(FrameError, match=r"SIGABRT, saying: .*gone") as caught:
        pool.submit(tricks.crash).result()
    assert caught.value.code == "worker-lost"
    assert [future.result() for future in beside] == [0, 2, 4]
    assert pool.submit(tricks.double, 21).result() == 42


def test_a_users_error_comes_back_as_it_was(pool: WorkerPool) -> None:
    """Code, message and hint survive the way."""
    with pytest.raises(FrameError) as caught:
        pool.submit(tricks.refuse).result()
    assert caught.value.report() == ("error [frame-damaged] night-07.dng: rows missing\n  try: copy it again")


def test_an_unexpected_error_says_where(pool: WorkerPool) -> None:
    """A defect of ours costs the call and names its line."""
    with pytest.raises(FrameError, match=r"KeyError: 'tram' \(tricks\.py, line \d+\)") as caught:
        pool.submit(tricks.blunder).result()
    assert caught.value.code == "unexpected"


def test_chatter_does_not_break_the_line(pool: WorkerPool) -> None:
    """What libraries print to standard output is no answer."""
    assert pool.submit(tricks.chatter).result() == "still understood"


def test_a_hang_is_ended_in_time() -> None:
    """A call beyond its limit ends with ``worker-timeout``, and the next one is answered."""
    with WorkerPool(1, limits=Limits(seconds=1.5)) as pool:
        assert pool.submit(tricks.double, 1).result() == 2
        assert code_of(pool, tricks.hang) == "worker-timeout"
        assert pool.submit(tricks.double, 1).result() == 2


def test_a_worker_grown_too_large_is_replaced() -> None:
    """Its answer counts; the next call has a fresh process."""
    with WorkerPool(1, limits=Limits(resident_bytes=150 << 20)) as pool:
        small = pool.submit(tricks.grow, 1).result()
        assert pool.submit(tricks.grow, 200).result() == small
        assert pool.submit(tricks.process_number).result() != small


def test_closing_ends_every_worker() -> None:
    """No process is left behind, neither after closing nor after killing."""
    with WorkerPool(2) as pool:
        pids = {pool.submit(tricks.process_number).result() for _ in range(6)}
    assert not any(tricks.alive(pid) for pid in pids)
    pool = WorkerPool(1)
    pid = pool.submit(tricks.process_number).result()
    busy = pool.submit(tricks.hang)
    waiting = pool.submit(tricks.double, 1)
    while not busy.running():
        time.sleep(0.01)
    pool.kill()
    assert not tricks.alive(pid)
    assert isinstance(busy.exception(), FrameError)
    assert waiting.cancelled()


def test_threads_are_divided_among_workers() -> None:
    """Workers are told how many threads they may use."""
    with WorkerPool(1, threads=3) as pool:
        assert pool.submit(tricks.threads_allowed).result() == "3"


@pytest.mark.parametrize("death", [signal.SIGKILL, signal.SIGTERM])
def test_workers_stop_when_their_parent_dies(tmp_path: Path, death: signal.Signals) -> None:
    """Killed in the middle of a busy call, the parent takes its worker along: the late file never comes."""
    mark = tmp_path / "mark"
    code = f"from batch.tricks import start_and_wait; start_and_wait({str(mark)!r})"
    parent = subprocess.Popen([sys.executable, "-c", code])
    started = Path(f"{mark}.started")
    for _ in range(400):
        if started.exists() and started.read_text():
            break
        time.sleep(0.05)
    worker = int(started.read_text())
    parent.send_signal(death)
    parent.wait()
    for _ in range(40):
        if not tricks.alive(worker):
            break
        time.sleep(0.05)
    assert not tricks.alive(worker)
    assert not mark.exists()


def test_the_callers_script_is_not_run_again(tmp_path: Path) -> None:
    """A script without a main guard uses a pool: its top level runs once."""
    script = tmp_path / "script.py"
    script.write_text(
        "print('top level')\n"
        "from batch.tricks import double\n"
        "from driftline.batch.pool import WorkerPool\n"
        "with WorkerPool(2) as pool:\n"
        "    print(pool.submit(double, 4).result())\n"
    )
    done = subprocess.run([sys.executable, script], capture_output=True, text=True, check=True)
    assert done.stdout == "top level\n8\n"
