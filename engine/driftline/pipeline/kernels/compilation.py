"""How every kernel is compiled, and when it has to be compiled again."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from numba import njit

IMPORTED = re.compile(r"^from driftline\.pipeline\.kernels\.(\w+) import", re.MULTILINE)


def compiled(function: Callable[..., Any]) -> Any:
    """Compile without the interpreter lock, kept on disk, and with arithmetic left as it is written.

    Without fast mathematics nothing is reordered and no product is fused with a sum, so every processor
    gives the same bits. Division by zero follows IEEE 754 and costs no test.

    Numba keeps compiled code until the file of the *function* changes in date or size. But kernels of other
    files are compiled into it, and an update may leave its own file alone: then the old code would be run,
    against new tables. So what decides is the content of the file and of all kernel files it imports from.
    """
    kernel: Any = njit(nogil=True, cache=True, error_model="numpy", fastmath=False)(function)
    kernel._cache._cache_file._source_stamp = stamp(Path(function.__code__.co_filename))
    return kernel


def inlined(function: Callable[..., Any]) -> Any:
    """A part of kernels: compiled into each that calls it, and never called by itself.

    A call costs a processor some thirty pixels' time, and what it is given is counted up and down. For parts
    that are asked for again for every few hundred pixels.
    """
    return njit(inline="always", nogil=True, error_model="numpy", fastmath=False)(function)


@cache
def stamp(source: Path) -> str:
    """SHA-256 over a kernel file and all kernel files it imports from, in the order of their names."""
    seen, waiting = set[Path](), [source]
    while waiting:
        path = waiting.pop()
        if path not in seen and path.exists():
            seen.add(path)
            waiting += [path.with_name(f"{name}.py") for name in IMPORTED.findall(path.read_text("utf-8"))]
    digest = hashlib.sha256()
    for path in sorted(seen, key=lambda path: path.name):
        digest.update(path.read_bytes())
    return digest.hexdigest()
