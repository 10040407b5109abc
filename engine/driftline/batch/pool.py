"""A pool of worker processes, in the shape of :class:`concurrent.futures.Executor`.

Each worker is a program of ours (``python -m driftline.batch.worker``), so the caller's script is never
imported again. One thread of the parent stands for each worker: it starts the process, hands it one call at a
time, and replaces it when it died, hung or grew too large. A call's loss is that call's exception; nothing
else is touched. When the parent dies, the workers die: their standard input ends, and on Linux the kernel
sees to it.
"""

from __future__ import annotations

import os
import selectors
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Mapping
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from signal import Signals
from typing import Any, TypeVar

import driftline
from driftline.errors import FrameError
from driftline.frames.wire import pack_message, take_message

T = TypeVar("T")


@dataclass(frozen=True)
class Limits:
    """What one call may take, and how large a worker may be afterwards before it is replaced."""

    seconds: float = 600.0
    resident_bytes: int = 1536 * 1024**2


class WorkerPool(Executor):
    """Worker processes that run functions of modules, with arguments and results in JSON.

    Parameters
    ----------
    workers
        How many; None: one a processor.
    limits
        Of time and memory.
    threads
        How many threads each worker may use for its pixels; None: the processors divided among the workers.

    Examples
    --------
    >>> with WorkerPool(1) as pool:
    ...     pool.submit(len, "frame").result()
    5
    """

    def __init__(
        self, workers: int | None = None, *, limits: Limits | None = None, threads: int | None = None
    ) -> None:
        self.workers = workers or os.cpu_count() or 1
        self.limits = limits or Limits()
        self._environment = _environment(threads or max(1, (os.cpu_count() or 1) // self.workers))
        self._threads = ThreadPoolExecutor(self.workers, thread_name_prefix="worker")
        self._mine = threading.local()
        self._running: set[Worker] = set()
        self._closed = False

    def submit(self, fn: Callable[..., T], /, *args: Any, **kwargs: Any) -> Future[T]:
        """Have a worker call a function of a module.

        The future's exception is a :class:`~driftline.errors.DriftlineError` as the function raised it, or a
        ``FrameError``: ``worker-lost``, ``worker-timeout``, ``unexpected``.
        """
        if kwargs:
            raise TypeError("only positional arguments reach a worker")
        request = {"call": f"{fn.__module__}:{fn.__qualname__}", "arguments": list(args)}
        return self._threads.submit(self._ask, request)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        """Let the running calls finish, and end the workers."""
        self._threads.shutdown(wait=wait, cancel_futures=cancel_futures)
        while wait and self._running:
            self._running.pop().close()

    def kill(self) -> None:
        """End all workers at once; calls that run or wait end with ``worker-lost`` or are cancelled."""
        self._closed = True
        self._threads.shutdown(wait=False, cancel_futures=True)
        for worker in list(self._running):
            worker.kill()
        self.shutdown()

    def _ask(self, request: Mapping[str, Any]) -> Any:
        worker: Worker | None = getattr(self._mine, "worker", None)
        if worker is None:
            worker = self._mine.worker = self._start()
        try:
            answer = worker.ask(request, self.limits.seconds)
        except FrameError:
            self._dismiss(worker)
            raise
        if answer.get("resident_bytes", 0) > self.limits.resident_bytes:
            self._dismiss(worker)
        if "error" in answer:
            error = answer["error"]
            raise FrameError(error["code"], error["message"], hint=error["hint"])
        return answer["result"]

    def _start(self) -> Worker:
        worker = Worker(self._environment)
        self._running.add(worker)
        if self._closed:
            worker.kill()
        return worker

    def _dismiss(self, worker: Worker) -> None:
        self._running.discard(worker)
        worker.close()
        self._mine.worker = None


class Worker:
    """One worker process, seen from the parent."""

    def __init__(self, environment: Mapping[str, str]) -> None:
        self._said = tempfile.TemporaryFile()  # noqa: SIM115 (closed with the worker)
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-m", "driftline.batch.worker", str(os.getpid())],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=self._said,
            env=environment,
            bufsize=0,
        )

    @property
    def pid(self) -> int:
        """Process number of the worker."""
        return self._process.pid

    def ask(self, request: Mapping[str, Any], seconds: float) -> dict[str, Any]:
        """One call and its answer.

        Raises
        ------
        FrameError
            ``worker-lost`` if the process ends, ``worker-timeout`` if it takes too long; it is ended then.
        """
        assert self._process.stdin is not None
        deadline = time.monotonic() + seconds
        try:
            self._process.stdin.write(pack_message(request))
            return take_message(lambda size: self._take(size, deadline))
        except TimeoutError:
            self.kill()
            raise FrameError(
                "worker-timeout",
                f"not done within {seconds:g} s; its worker was ended",
                hint="look at that frame alone; running again tries it again",
            ) from None
        except (OSError, EOFError, ValueError) as error:
            raise FrameError(
                "worker-lost", f"its worker {self._last_words()}", hint="running again tries it again"
            ) from error

    def kill(self) -> None:
        """End the process at once."""
        self._process.kill()

    def close(self) -> None:
        """Let the process end by itself, or end it, and wait until it is gone."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        with suppress(OSError):
            self._process.stdin.close()
        try:
            self._process.wait(timeout=5.0)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self._process.stdout.close()
        self._said.close()

    def _take(self, size: int, deadline: float) -> bytes:
        out = self._process.stdout
        assert out is not None
        taken = b""
        with selectors.DefaultSelector() as ready:
            ready.register(out, selectors.EVENT_READ)
            while len(taken) < size:
                if not ready.select(max(deadline - time.monotonic(), 0)):
                    raise TimeoutError
                part = os.read(out.fileno(), size - len(taken))
                if not part:
                    raise EOFError
                taken += part
        return taken

    def _last_words(self) -> str:
        try:
            code = self._process.wait(timeout=5.0)
        except subprocess.TimeoutExpired:
            self._process.kill()
            code = self._process.wait()
        end = f"was ended by {Signals(-code).name}" if code < 0 else f"ended with exit status {code}"
        self._said.seek(0)
        lines = self._said.read()[-2000:].decode(errors="replace").strip().splitlines()
        return f"{end}, saying: {lines[-1]}" if lines else end


def _environment(threads: int) -> dict[str, str]:
    """The workers' environment: this package, and no more threads than processors."""
    root = str(Path(driftline.__file__).resolve().parents[1])
    paths = [root, *filter(None, os.environ.get("PYTHONPATH", "").split(os.pathsep))]
    fixed = {
        "PYTHONPATH": os.pathsep.join(os.path.abspath(path) for path in paths),
        "PYTHONWARNINGS": "ignore",
        "DRIFTLINE_THREADS": str(threads),
        "OMP_NUM_THREADS": str(threads),
        "OPENBLAS_NUM_THREADS": "1",
    }
    return {**os.environ, **fixed}
