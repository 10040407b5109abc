"""How every kernel is compiled."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from numba import njit


def compiled(function: Callable[..., Any]) -> Any:
    """Compile without the interpreter lock, kept on disk, and with arithmetic left as it is written.

    Without fast mathematics nothing is reordered and no product is fused with a sum, so every processor
    gives the same bits. Division by zero follows IEEE 754 and costs no test.
    """
    return njit(nogil=True, cache=True, error_model="numpy", fastmath=False)(function)
