"""Memory of one worker and its decoder over 300 frames: flat, or growing.

Run ``PYTHONPATH=engine:demo_raws:tests python tests/benchmarks/bench_memory.py [FRAMES] [EDGE]`` on Linux.
The peer is the same process after its first 30 frames: what it holds at the end, divided by that.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from pathlib import Path
from statistics import median
from threading import Event, Thread

from batch.shoot import write_frame
from driftline.batch.order import Form, Look
from driftline.batch.pool import WorkerPool
from driftline.batch.run import run_batch

FULL = """
white.shift = 10
curve = { slope = 1.1, toe = -0.1, shoulder = 0.3 }
chroma.band.brick = { hue = 40, width = 35, turn = -3, scale = 1.1 }
split = { low = { hue = 250, chroma = 0.01 }, high = { hue = 80, chroma = 0.008 } }
noise.chroma = 0.5
grain = { rms_granularity = 6.0 }
finish.acutance = 0.2
"""


def children(pid: int) -> list[int]:
    """Processes that a process started."""
    tasks = Path(f"/proc/{pid}/task").iterdir()
    return [int(word) for task in tasks for word in (task / "children").read_text().split()]


def resident_mb(pid: int) -> float:
    """Memory of a process that is in use, in MB; 0 if it is gone."""
    try:
        pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    except (OSError, IndexError):
        return 0.0
    return pages * os.sysconf("SC_PAGESIZE") / 1e6


def watch(stop: Event, seen: list[tuple[float, float]]) -> None:
    """Note worker and decoder now and then."""
    while not stop.wait(0.05):
        try:
            for worker in children(os.getpid()):
                seen.append((resident_mb(worker), max(map(resident_mb, children(worker)), default=0.0)))
        except OSError:
            continue


def main(count: int, edge: int) -> None:
    """Print what it held early, late and at most."""
    with tempfile.TemporaryDirectory() as place, WorkerPool(1) as pool:
        shoot = Path(place) / "shoot"
        shoot.mkdir()
        frames = [
            write_frame(shoot / f"q{n:03d}.dng", n, height=edge * 2 // 3 // 2 * 2, width=edge)
            for n in range(count)
        ]
        marks: list[int] = []
        seen: list[tuple[float, float]] = []
        stop = Event()
        watcher = Thread(target=watch, args=(stop, seen))
        watcher.start()
        start = time.monotonic()
        result = run_batch(
            Look(name="full", text=FULL),
            frames,
            Path(place) / "out",
            Form(),
            pool=pool,
            progress=lambda done, _: marks.append(len(seen)) if done in {30, count - 30} else None,
        )
        stop.set()
        watcher.join()
        assert len(result.prints) == count, result.failed[:3]
        print(f"{count} frames of {edge} px in {time.monotonic() - start:.0f} s")
        for name, part in (("worker", 0), ("decoder", 1)):
            early = median(one[part] for one in seen[marks[0] : marks[0] + 100])
            late = median(one[part] for one in seen[marks[1] :])
            most = max(one[part] for one in seen)
            told = f"after 30 {early:5.0f} MB, in the last 30 {late:5.0f} MB, ratio {late / early:.2f}"
            print(f"  {name:8s} {told}, at most {most:.0f} MB")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 300, int(sys.argv[2]) if len(sys.argv) > 2 else 900)
