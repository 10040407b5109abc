"""The same runs on an existing cluster scheduler (Dask distributed), frames and prints on a path all share.

There is no scheduler of our own: this is the pool's interface over another's. A call goes as its name and
JSON, as to a worker program, so both sides need the same driftline and nothing else of ours; whether they
have it, and see the same paths, is asked of every worker before a run begins.
"""

from __future__ import annotations

import logging
import os
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from threading import Event, Thread
from typing import Any, Final, TypeVar
from urllib.parse import urlsplit

from driftline import __version__
from driftline.batch.worker import answer
from driftline.errors import FrameError, UsageError

T = TypeVar("T")
PATIENCE_S: Final = 60.0
"""How long a cluster may be without any worker in the middle of a run, before what is left is given up."""
_WAIT_S: Final = 10.0
_LOOK_S: Final = 1.0
"""Between two looks at whether there are workers."""
_AGAIN: Final = "run it again: only what is missing is done"


class ClusterPool(Executor):
    """Calls on a cluster, in the shape of :class:`~driftline.batch.pool.WorkerPool`.

    Parameters
    ----------
    executor
        The cluster's own; it stays open.
    """

    def __init__(self, executor: Executor) -> None:
        self._executor = executor
        self._waiting: set[Future[Any]] = set()
        self._given_up = ("the cluster gave the frame up", _AGAIN)

    def submit(self, fn: Callable[..., T], /, *args: Any, **kwargs: Any) -> Future[T]:
        """Have a machine of the cluster call a function of a module; errors as with the local pool."""
        if kwargs:
            raise TypeError("only positional arguments reach a worker")
        request = {"call": f"{fn.__module__}:{fn.__qualname__}", "arguments": list(args)}
        outer: Future[T] = Future()
        inner = self._executor.submit(answer, request)
        self._waiting.add(inner)
        inner.add_done_callback(lambda done: self._settle(done, outer))
        return outer

    def give_up(self, reason: str, hint: str) -> None:
        """Fail every call that is not done, and have the cluster forget it."""
        self._given_up = reason, hint
        for inner in list(self._waiting):
            inner.cancel()

    def _settle(self, done: Future[Any], outer: Future[Any]) -> None:
        """Pass on an outcome: a result, an error meant for the user, or the cluster's own trouble."""
        self._waiting.discard(done)
        if done.cancelled():
            reason, hint = self._given_up
            outer.set_exception(FrameError("worker-lost", reason, hint=hint))
            return
        trouble = done.exception()
        if trouble is not None:
            outer.set_exception(FrameError("worker-lost", f"its worker was lost: {trouble}", hint=_AGAIN))
            return
        outcome = done.result()
        if "error" in outcome:
            error = outcome["error"]
            outer.set_exception(FrameError(error["code"], error["message"], hint=error["hint"]))
        else:
            outer.set_result(outcome["result"])


@contextmanager
def cluster(
    address: str, shared: Iterable[Path] = (), *, patience_s: float = PATIENCE_S
) -> Iterator[ClusterPool]:
    """A pool on the scheduler at an address, ``tcp://host:8786``.

    When all its workers are gone, the scheduler keeps the calls for those that come back. After a while what
    is not done fails, each call with ``worker-lost``.

    Parameters
    ----------
    address
        Of the scheduler.
    shared
        What every worker must see under the same path.
    patience_s
        That while, in seconds.

    Raises
    ------
    UsageError
        ``no-cluster-support`` if the extra is not installed; ``bad-address``; ``no-scheduler`` if nobody
        answers; ``no-workers``; ``worker-differs`` if one has no driftline, or another one than this;
        ``path-not-shared``.
    """
    try:
        distributed: Any = import_module("distributed")  # an optional extra
    except ImportError:
        raise UsageError(
            "no-cluster-support", "Dask distributed is not installed", hint="pip install 'driftline[cluster]'"
        ) from None
    _check_address(address)
    with _unheard():
        yield from _opened(distributed, address, [str(path) for path in shared], patience_s)


def _opened(distributed: Any, address: str, shared: list[str], patience_s: float) -> Iterator[ClusterPool]:
    try:
        client = distributed.Client(address, timeout=5, set_as_default=False)
    except (OSError, ValueError) as error:
        raise UsageError(
            "no-scheduler", f"{address}: no scheduler answers ({error})", hint="dask scheduler starts one"
        ) from error
    with client:
        _check_workers(client, address, shared)
        pool = ClusterPool(client.get_executor(pure=False))
        with _watched(client, pool, patience_s):
            yield pool


@contextmanager
def _watched(client: Any, pool: ClusterPool, patience_s: float) -> Iterator[None]:
    """Meanwhile, look whether there are workers, and give up when there was none for long."""
    over = Event()
    watcher = Thread(target=_watch, args=(client, pool, patience_s, over), daemon=True)
    watcher.start()
    try:
        yield
    finally:
        over.set()
        watcher.join(_WAIT_S)


def _watch(client: Any, pool: ClusterPool, patience_s: float, over: Event) -> None:
    there = time.monotonic()
    while not over.wait(min(_LOOK_S, patience_s)):
        now = time.monotonic()
        if _has_workers(client):
            there = now
        elif now - there >= patience_s:
            pool.give_up(
                f"the cluster has had no worker for {now - there:.0f} s", f"start its workers, then {_AGAIN}"
            )


def _has_workers(client: Any) -> bool:
    try:
        return bool(client.nthreads())
    except (OSError, RuntimeError):  # the scheduler is gone, too, or the client closed since
        return False


@contextmanager
def _unheard() -> Iterator[None]:
    """Keep the library's own log, which is not for users, off the terminal: what matters becomes errors."""
    loggers = [logging.getLogger(name) for name in logging.root.manager.loggerDict if _of_library(name)]
    levels = [logger.level for logger in loggers]
    for logger in loggers:
        logger.setLevel(logging.CRITICAL + 1)
    try:
        yield
    finally:
        for logger, level in zip(loggers, levels, strict=True):
            logger.setLevel(level)


def _of_library(name: str) -> bool:
    return name.partition(".")[0] == "distributed"


def standing(paths: Sequence[str]) -> dict[str, Any]:
    """What a worker says of itself: its driftline, the edition of its pipeline, and what it does not see."""
    from driftline.pipeline import EDITION  # noqa: PLC0415 (of heavy imports, where it is asked)

    missing = [path for path in paths if not os.path.exists(path)]
    return {"driftline": f"{__version__}, edition {EDITION}", "missing": missing}


def _check_address(address: str) -> None:
    place = urlsplit(address if "://" in address else f"tcp://{address}")
    try:
        sound = bool(place.hostname and place.port)
    except ValueError:  # a port that is no number
        sound = False
    if not sound:
        raise UsageError(
            "bad-address", f"{address!r}: not the address of a scheduler", hint="tcp://host:8786"
        )


def _check_workers(client: Any, address: str, shared: list[str]) -> None:
    try:
        client.wait_for_workers(1, timeout=_WAIT_S)
    except TimeoutError:
        raise UsageError(
            "no-workers",
            f"{address}: the scheduler has no worker",
            hint=f"dask worker {address} starts one, on each machine",
        ) from None
    ours = standing(())["driftline"]
    for worker, told in client.run(standing, shared, on_error="return").items():
        if isinstance(told, Exception) or told["driftline"] != ours:
            theirs = (
                f"no driftline ({told})" if isinstance(told, Exception) else f"driftline {told['driftline']}"
            )
            raise UsageError(
                "worker-differs",
                f"the worker at {worker} has {theirs}; needed is {ours}",
                hint="install the same driftline there",
            )
        if told["missing"]:
            raise UsageError(
                "path-not-shared",
                f"the worker at {worker} does not see {told['missing'][0]}",
                hint="frames and output folder on a path that all machines share",
            )
