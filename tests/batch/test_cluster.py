"""The same run on a real scheduler and two real workers on the loopback address, one killed half-way."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from pathlib import Path

import pytest

from batch import tricks
from batch.shoot import FORM, LOOK, contents, write_shoot
from driftline.batch import apply
from driftline.batch.cluster import ClusterPool, _check_workers, cluster, standing
from driftline.batch.run import run_batch
from driftline.errors import FrameError, UsageError

ROOT = Path(__file__).resolve().parents[1]


def started(*arguments: str) -> subprocess.Popen[str]:
    """A program of the cluster, that says where it listens."""
    path = os.pathsep.join([str(ROOT), *filter(None, sys.path)])
    return subprocess.Popen(
        [sys.executable, "-W", "ignore", "-m", *arguments],
        stderr=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "PYTHONPATH": path},
    )


def line_with(program: subprocess.Popen[str], word: str) -> str:
    """The first line of its log that holds a word."""
    assert program.stderr is not None
    for line in program.stderr:
        if word in line:
            return line.split()[-1]
    raise AssertionError(f"ended without saying {word!r}")


@pytest.fixture
def scheduler() -> Iterator[tuple[str, list[subprocess.Popen[str]]]]:
    """A scheduler and two workers; its address, and the workers."""
    pytest.importorskip("distributed", reason="needs the extra driftline[cluster]")
    main = started("distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard")
    address = line_with(main, "Scheduler at:")
    options = ["--nthreads", "1", "--no-dashboard", "--no-nanny", "--host", "127.0.0.1"]
    workers = [started("distributed.cli.dask_worker", address, *options) for _ in range(2)]
    for worker in workers:
        line_with(worker, "Registered to:")
    yield address, workers
    for program in [*workers, main]:
        program.kill()
        program.wait()
        assert program.stderr is not None
        program.stderr.close()


@pytest.mark.filterwarnings("ignore")
def test_a_run_on_a_cluster_equals_a_run_here(
    scheduler: tuple[str, list[subprocess.Popen[str]]], tmp_path: Path
) -> None:
    """One of two workers is killed after the first print: all frames are printed, byte for byte as here.

    The other one is killed after the first print of another run: what is printed stays, the rest has a reason
    soon, and a run that finds a worker again does what is missing.
    """
    address, workers = scheduler
    frames = write_shoot(tmp_path / "shoot", 6)
    frames[3].write_bytes(b"not a frame")
    here = run_batch(LOOK, [tmp_path / "shoot"], tmp_path / "here", FORM, workers=1)
    alive = workers[:]

    def kill_one(done: int, total: int) -> None:
        if done and len(alive) > left:
            alive.pop().send_signal(signal.SIGKILL)

    left = 1
    with cluster(address) as pool:
        there = run_batch(LOOK, [tmp_path / "shoot"], tmp_path / "there", FORM, pool=pool, progress=kill_one)
    assert len(alive) == 1
    assert [one.code for one in there.failed] == [one.code for one in here.failed] == ["frame-not-raw"]
    assert contents(tmp_path / "there") == contents(tmp_path / "here")

    left = 0
    with cluster(address, patience_s=1.0) as pool:
        cut = run_batch(LOOK, [tmp_path / "shoot"], tmp_path / "cut", FORM, pool=pool, progress=kill_one)
    lost = [one for one in cut.failed if one.code == "worker-lost"]
    assert cut.prints
    assert len(cut.prints) + len(cut.failed) == 6
    assert lost
    assert all("has had no worker for" in one.reason and "start its workers" in one.hint for one in lost)
    again = run_batch(LOOK, [tmp_path / "shoot"], tmp_path / "cut", FORM, workers=1)
    assert {one.frame for one in cut.prints} <= {one.frame for one in again.there}
    assert contents(tmp_path / "cut") == contents(tmp_path / "here")


@pytest.mark.filterwarnings("ignore")
def test_apply_takes_an_address(
    scheduler: tuple[str, list[subprocess.Popen[str]]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Relative paths mean the same to machines that stand elsewhere."""
    write_shoot(tmp_path / "shoot", 1)
    (tmp_path / "dusk.toml").write_text("[curve]\nslope = 1.1\n")
    monkeypatch.chdir(tmp_path)
    result = apply(None, "dusk.toml", ["shoot"], "out", scheduler=scheduler[0])
    assert [one.path for one in result.prints] == [str(tmp_path / "out" / "quay-01-dusk.jpg")]
    with pytest.raises(UsageError) as caught, cluster(scheduler[0], [tmp_path, tmp_path / "elsewhere"]):
        pass
    assert (caught.value.code, str(tmp_path / "elsewhere") in caught.value.message) == (
        "path-not-shared",
        True,
    )


class Answering:
    """A client of a cluster whose workers answer what they are told to."""

    def __init__(self, *answers: object) -> None:
        self._answers = answers

    def wait_for_workers(self, number: int, timeout: float) -> None:
        """As Dask has it."""
        if len(self._answers) < number:
            raise TimeoutError

    def run(self, *_: object, **__: object) -> dict[str, object]:
        """The answers, by worker."""
        return {f"tcp://10.0.0.{n}:4000": told for n, told in enumerate(self._answers)}


@pytest.mark.parametrize(
    ("answers", "code", "word"),
    [
        ([], "no-workers", "dask worker tcp://10.0.0.1:8786"),
        ([standing(()), ImportError("no module named driftline")], "worker-differs", "tcp://10.0.0.1:4000"),
        ([{**standing(()), "driftline": "0.0.9, edition 1"}], "worker-differs", "0.0.9, edition 1"),
        ([standing(()), standing(["/nowhere/at/all"])], "path-not-shared", "/nowhere/at/all"),
    ],
)
def test_workers_that_cannot_do_it_are_named(answers: list[object], code: str, word: str) -> None:
    """Before anything is printed: none there, another driftline, frames out of sight."""
    with pytest.raises(UsageError) as caught:
        _check_workers(Answering(*answers), "tcp://10.0.0.1:8786", [])
    assert caught.value.code == code
    assert word in caught.value.report()


def test_workers_that_can_are_not() -> None:
    """The same driftline, and every path in sight."""
    _check_workers(Answering(standing(["/"]), standing(["/"])), "tcp://10.0.0.1:8786", ["/"])


@pytest.mark.parametrize(
    "address", ["nonsense", "tcp://quay-box", "tcp://:8786", "quay-box:port", "8786", ""]
)
def test_what_is_no_address(address: str) -> None:
    """An error in words at once, not after a time-out."""
    pytest.importorskip("distributed", reason="needs the extra driftline[cluster]")
    with pytest.raises(UsageError, match="not the address") as caught, cluster(address):
        pass
    assert caught.value.code == "bad-address"


def test_without_the_extra(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is missing and how to get it."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(UsageError) as caught, cluster("tcp://127.0.0.1:8786"):
        pass
    assert (caught.value.code, "driftline[cluster]" in str(caught.value.hint)) == ("no-cluster-support", True)


def test_a_frame_that_a_later_machine_does_not_see(tmp_path: Path) -> None:
    """It is there, but not there: said so, not that there is no such file."""

    class Blind(ThreadPoolExecutor):
        def submit(self, *_: object, **__: object) -> Future[None]:  # type: ignore[override]
            future: Future[None] = Future()
            future.set_exception(FrameError("frame-missing", "there is no such file"))
            return future

    (frame,) = write_shoot(tmp_path / "shoot", 1)
    with Blind(1) as blind:
        result = run_batch(LOOK, [frame, tmp_path / "gone.dng"], tmp_path / "out", FORM, pool=blind)
    assert [one.code for one in result.failed] == ["path-not-shared", "frame-missing"]


def test_an_address_without_a_scheduler() -> None:
    """Nobody answers: an error in words, soon."""
    pytest.importorskip("distributed", reason="needs the extra driftline[cluster]")
    start = time.monotonic()
    with pytest.raises(UsageError) as caught, cluster("tcp://127.0.0.1:1"):
        pass
    assert caught.value.code == "no-scheduler"
    assert time.monotonic() - start < 60


def test_outcomes_pass_through_any_executor() -> None:
    """Results, errors for the user, and trouble of the executor's own arrive as with the local pool."""
    with ThreadPoolExecutor(1) as threads:
        pool = ClusterPool(threads)
        assert pool.submit(tricks.double, 4).result() == 8
        refused = pool.submit(tricks.refuse).exception()
        assert isinstance(refused, FrameError)
        assert (refused.code, refused.hint) == ("frame-damaged", "copy it again")


@pytest.mark.parametrize("end", [RuntimeError("killed thrice"), CancelledError()])
def test_trouble_of_the_cluster_costs_the_frame(end: BaseException) -> None:
    """A worker killed too often, or a future given up: ``worker-lost``."""

    class Losing(ThreadPoolExecutor):
        def submit(self, *_: object, **__: object) -> Future[None]:  # type: ignore[override]
            future: Future[None] = Future()
            if isinstance(end, CancelledError):
                future.cancel()
                future.set_running_or_notify_cancel()
            else:
                future.set_exception(end)
            return future

    with Losing(1) as losing:
        error = ClusterPool(losing).submit(tricks.double, 4).exception()
    assert isinstance(error, FrameError)
    assert error.code == "worker-lost"
