"""Keeping freed memory for the next picture."""

from __future__ import annotations

import ctypes
from functools import cache

_MMAP_THRESHOLD, _TRIM_THRESHOLD, _ARENA_MAX = -3, -1, -8  # <malloc.h>
_MOST = 1 << 30


@cache
def keep_freed() -> bool:
    """Have the C library keep what large arrays leave behind, where it can be told (mallopt); once is enough.

    Otherwise it maps each from the system and hands it back, and the system clears every page again: a tenth
    of a 24-megapixel print's time (measured). All threads share one arena, since others hold no array of more
    than 64 MB. For a process that makes one print after the other.

    Returns
    -------
    bool
        Whether it was told.
    """
    tell = getattr(ctypes.CDLL(None), "mallopt", None)
    wishes = ((_MMAP_THRESHOLD, _MOST), (_TRIM_THRESHOLD, _MOST), (_ARENA_MAX, 1))
    return tell is not None and all(bool(tell(*wish)) for wish in wishes)
