"""The same runs on an existing cluster scheduler (Dask distributed), frames and prints on a path all share.

There is no scheduler of our own: this is the pool's interface over another's. A call goes as its name and
JSON, as to a worker program, so both sides need the same driftline and nothing else of ours.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from importlib import import_module
from typing import Any, TypeVar

from driftline.batch.worker import answer
from driftline.errors import FrameError, UsageError

T = TypeVar("T")


class ClusterPool(Executor):
    """Calls on a cluster, in the shape of :class:`~driftline.batch.pool.WorkerPool`.

    Parameters
    ----------
    executor
        The cluster's own; it stays open.
    """

    def __init__(self, executor: Executor) -> None:
        self._executor = executor

    def submit(self, fn: Callable[..., T], /, *args: Any, **kwargs: Any) -> Future[T]:
        """Have a machine of the cluster call a function of a module; errors as with the local pool."""
        if kwargs:
            raise TypeError("only positional arguments reach a worker")
        request = {"call": f"{fn.__module__}:{fn.__qualname__}", "arguments": list(args)}
        outer: Future[T] = Future()
        inner = self._executor.submit(answer, request)
        inner.add_done_callback(lambda done: _settle(done, outer))
        return outer


@contextmanager
def cluster(address: str) -> Iterator[ClusterPool]:
    """A pool on the scheduler at an address, ``tcp://host:8786``.

    Raises
    ------
    UsageError
        ``no-cluster-support`` if the extra is not installed; ``no-scheduler`` if nobody answers.
    """
    try:
        distributed: Any = import_module("distributed")  # an optional extra
    except ImportError:
        raise UsageError(
            "no-cluster-support", "Dask distributed is not installed", hint="pip install 'driftline[cluster]'"
        ) from None
    try:
        client = distributed.Client(address, timeout=5, set_as_default=False)
    except (OSError, ValueError) as error:
        raise UsageError(
            "no-scheduler", f"{address}: no scheduler answers ({error})", hint="dask scheduler starts one"
        ) from error
    with client:
        yield ClusterPool(client.get_executor(pure=False))


def _settle(done: Future[Any], outer: Future[Any]) -> None:
    """Pass on an outcome: a result, an error that was meant for the user, or the cluster's own trouble."""
    if done.cancelled():
        outer.set_exception(FrameError("worker-lost", "the cluster gave the frame up"))
        return
    trouble = done.exception()
    if trouble is not None:
        outer.set_exception(FrameError("worker-lost", f"its worker was lost: {trouble}"))
        return
    outcome = done.result()
    if "error" in outcome:
        error = outcome["error"]
        outer.set_exception(FrameError(error["code"], error["message"], hint=error["hint"]))
    else:
        outer.set_result(outcome["result"])
