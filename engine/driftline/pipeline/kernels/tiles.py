"""Run a compiled function over tiles of a picture, in the one pool of threads there is for that."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cache

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
    if threads == 1 or len(tiles) == 1:
        for tile in tiles:
            function(*tile)
        return
    for done in pool(threads or processors()).map(lambda tile: function(*tile), tiles):
        del done


def processors() -> int:
    """How many threads to use: ``DRIFTLINE_THREADS``, else one a processor."""
    return int(os.environ.get("DRIFTLINE_THREADS", "0")) or os.cpu_count() or 1


@cache
def pool(threads: int) -> ThreadPoolExecutor:
    """The pool of that many threads, made once."""
    return ThreadPoolExecutor(max_workers=threads, thread_name_prefix="tiles")
