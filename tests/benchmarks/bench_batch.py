"""Prints a minute and memory of a batch of 24-megapixel frames, against a plain loop with the same processes.

Run ``PYTHONPATH=engine:demo_raws:tests:tests/benchmarks python tests/benchmarks/bench_batch.py [FRAMES]``.
The plain loop is rawpy's ``postprocess`` and Pillow's JPEG in two processes, without anchoring, drift or
provenance. One worker is also held to one core, since by itself it keeps more than one busy: decoding,
hashing and measuring go on beside developing. CPU seconds are told too: on a machine that does other things
they are what can be compared.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from bench_print import TEXT, large_dng

from driftline.batch.order import Form, Look, RunResult
from driftline.batch.run import run_batch

PLAIN = """
import sys, rawpy
from PIL import Image
for path in sys.argv[1:]:
    with rawpy.imread(path) as raw:
        Image.fromarray(raw.postprocess()).save(path + ".plain.jpg", "jpeg", quality=92)
"""


def frames(folder: Path, count: int) -> list[Path]:
    """Frames of one content but different bytes: a comment behind the last directory."""
    first = large_dng(folder)
    content = first.read_bytes()
    first.unlink()
    made = []
    for number in range(count):
        path = folder / f"frame-{number:03d}.dng"
        path.write_bytes(content + b"frame %04d" % number)
        made.append(path)
    return made


def largest_workers(stop: threading.Event, into: dict[int, int]) -> None:
    """Read the peak of resident memory of every worker, in bytes, by process, as the kernel keeps it.

    Seldom, and without starting a program: the batch that is timed has the same processors.
    """
    while not stop.wait(0.5):
        for process in Path("/proc").glob("[0-9]*"):
            with suppress(OSError):  # it ended meanwhile
                if b"driftline.batch.worker" in (process / "cmdline").read_bytes():
                    status = (process / "status").read_text()
                    into[int(process.name)] = int(status.split("VmHWM:")[1].split()[0]) * 1024


def timed(function: Callable[[], object]) -> tuple[float, float]:
    """Wall-clock seconds, and CPU seconds of this process and the children that ended meanwhile."""
    before, start = os.times(), time.perf_counter()
    function()
    now = os.times()
    return time.perf_counter() - start, sum(now[:4]) - sum(before[:4])


def told(name: str, count: int, seconds: float, cpu: float) -> str:
    """One line of the result."""
    return f"{name}: {60 * count / seconds:.1f} prints a minute, {cpu / count:.2f} CPU seconds a print"


def batch(shoot: Path, out: Path, workers: int) -> tuple[float, float, dict[int, int]]:
    """Seconds, CPU seconds (with the start of the workers), and the peak of each worker."""
    look, stop, peaks = Look(name="full", text=TEXT, ref="full@1"), threading.Event(), dict[int, int]()
    watcher = threading.Thread(target=largest_workers, args=(stop, peaks))
    results: list[RunResult] = []
    watcher.start()
    seconds, cpu = timed(lambda: results.append(run_batch(look, [shoot], out, Form(), workers=workers)))
    stop.set()
    watcher.join()
    assert not results[0].failed, results[0].failed
    return seconds, cpu, peaks


def plain(paths: list[Path], processes: int) -> tuple[float, float]:
    """Seconds and CPU seconds of the plain loop, its frames dealt out among processes."""

    def run() -> None:
        running = [
            subprocess.Popen([sys.executable, "-c", PLAIN, *paths[n::processes]]) for n in range(processes)
        ]
        assert all(process.wait() == 0 for process in running)

    return timed(run)


def main() -> None:
    """Print one line a measurement."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 8
    with tempfile.TemporaryDirectory() as folder:
        shoot = Path(folder, "shoot")
        shoot.mkdir()
        paths = frames(shoot, count)
        batch(shoot, Path(folder, "warm"), 1)  # compiled kernels are kept from here on
        everything = os.sched_getaffinity(0)
        for workers, cores in ((1, 1), (1, 2), (2, 2)):
            os.sched_setaffinity(0, sorted(everything)[:cores])  # a worker's decoder and threads count, too
            seconds, cpu, peaks = batch(shoot, Path(folder, f"out-{workers}-{cores}"), workers)
            peak = max(peaks.values()) >> 20
            name = f"batch, {workers} workers on {cores} cores"
            print(told(name, count, seconds, cpu) + f", {peak} MB a worker", flush=True)
        os.sched_setaffinity(0, everything)
        print(told("plain loop, 2 processes", count, *plain(paths, 2)))


if __name__ == "__main__":
    main()
