"""Run a compiled function over tiles of a picture, in the one pool of threads there is for that."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from typing import Any

TILE_ROWS = 128
TILE_COLUMNS = 2048


def run_tiles(
    function: Callable[[int, int, int, int], None],
    height: int,
    width: int,
    *,
    tile_rows: int = TILE_ROWS,
    tile_columns: int = TILE_COLUMNS,
    threads: int | None = None,
) -> None:
    """Call ``function(top, bottom, left, right)`` for each tile.

    Parameters
    ----------
    function
        Releases the interpreter lock, writes to its own tile only, and reads what it needs around it.
    height, width
        Of the picture.
    tile_rows, tile_columns
        Size of a tile; the result must not depend on it.
    threads
        None for all processors.

    Raises
    ------
    Exception
        Whatever the function raised first.
    """
    tiles = [
        (top, min(top + tile_rows, height), left, min(left + tile_columns, width))
        for top in range(0, height, tile_rows)
        for left in range(0, width, tile_columns)
    ]
    each_in_threads(lambda tile: function(*tile), tiles, threads)


def each_in_threads(function: Callable[[Any], object], pieces: Sequence[Any], threads: int | None) -> None:
    """Call a function with each piece; with one thread in the thread that asks."""
    threads = threads or processors()
    if threads == 1 or len(pieces) == 1:
        for piece in pieces:
            function(piece)
        return
    for done in pool(threads).map(function, pieces):
        del done


def processors() -> int:
    """How many threads to use: ``DRIFTLINE_THREADS``, else one a processor."""
    return int(os.environ.get("DRIFTLINE_THREADS", "0")) or os.cpu_count() or 1


@cache
def pool(threads: int) -> ThreadPoolExecutor:
    """The pool of that many threads, made once."""
    return ThreadPoolExecutor(max_workers=threads, thread_name_prefix="tiles")
