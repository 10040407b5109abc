"""A worker: ``python -m driftline.batch.worker PARENT``.

Requests come on standard input and answers leave on what was standard output; whatever a library prints goes
to standard error instead. A request is ``{call: "module:function", arguments}``; the answer ``{result}`` or
``{error: {code, message, hint}}``, with ``resident_bytes`` for the pool to judge the worker's size by.
"""

from __future__ import annotations

import ctypes
import gc
import os
import queue
import signal
import sys
import threading
import traceback
from collections.abc import Mapping
from importlib import import_module
from operator import attrgetter
from pathlib import Path
from typing import Any, BinaryIO

from driftline.errors import DriftlineError
from driftline.frames.wire import pack_message, take_message

_SET_PARENT_DEATH_SIGNAL = 1


def main() -> None:
    """Serve the parent until it closes its end or dies."""
    gc.disable()  # until the first call is done: what that loads is there to stay
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is the parent's to handle
    _die_with(int(sys.argv[1]))
    with os.fdopen(os.dup(1), "wb") as answers:
        os.dup2(2, 1)
        requests: queue.SimpleQueue[dict[str, Any]] = queue.SimpleQueue()
        threading.Thread(target=_listen, args=(sys.stdin.buffer, requests), daemon=True).start()
        while True:
            outcome = answer(requests.get())
            answers.write(pack_message(outcome))
            answers.flush()
            if not gc.isenabled():
                _collect_from_now_on(failed="error" in outcome)


def answer(request: Mapping[str, Any]) -> dict[str, Any]:
    """Make one call; every failure becomes part of the answer.

    Examples
    --------
    >>> answer({"call": "builtins:len", "arguments": ["frame"]})["result"]
    5
    """
    try:
        module, _, name = request["call"].partition(":")
        outcome = {"result": attrgetter(name)(import_module(module))(*request["arguments"])}
    except DriftlineError as error:
        outcome = {"error": {"code": error.code, "message": error.message, "hint": error.hint}}
    except MemoryError:
        outcome = {"error": _failure("out-of-memory", "it needs more memory than there is", "fewer workers")}
    except Exception as error:
        outcome = {"error": _failure("unexpected", _where(error), "please report this: it is a defect")}
    return {**outcome, "resident_bytes": _resident_bytes()}


def _collect_from_now_on(*, failed: bool) -> None:
    """Leave alone what the first call loaded: to look through it costs a tenth of a second (measured).

    A call that failed may leave pictures in cycles of its traceback; those are let go.
    """
    if failed:
        gc.collect()
    gc.freeze()
    gc.enable()


def _listen(requests: BinaryIO, into: queue.SimpleQueue[dict[str, Any]]) -> None:
    """Pass requests on; when the parent's end closes, stop at once, whatever is being done."""

    def take(size: int) -> bytes:
        taken = requests.read(size)
        if len(taken) < size:
            raise EOFError
        return taken

    try:
        while True:
            into.put(take_message(take))
    except (EOFError, OSError, ValueError):
        os._exit(0)


def _die_with(parent: int) -> None:
    """Have the kernel end this process when the parent ends, where it can."""
    if sys.platform == "linux":
        ctypes.CDLL(None, use_errno=True).prctl(_SET_PARENT_DEATH_SIGNAL, signal.SIGKILL)
    if os.getppid() != parent:
        os._exit(0)


def _resident_bytes() -> int:
    """Memory in use now; 0 where it is not known."""
    status = Path("/proc/self/statm")
    return int(status.read_text().split()[1]) * os.sysconf("SC_PAGESIZE") if status.exists() else 0


def _where(error: Exception) -> str:
    last = traceback.extract_tb(error.__traceback__)[-1]
    return f"{type(error).__name__}: {error} ({Path(last.filename).name}, line {last.lineno})"


def _failure(code: str, message: str, hint: str) -> dict[str, str]:
    return {"code": code, "message": message, "hint": hint}


if __name__ == "__main__":
    main()
