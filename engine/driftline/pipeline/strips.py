"""Run a per-pixel function over strips of rows, in threads: the same numbers, a fraction of the memory."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.pipeline.kernels.tiles import each_in_threads

STRIP_PIXELS = 1 << 17


def in_strips(
    function: Callable[[NDArray[np.float32]], NDArray[Any]],
    picture: NDArray[np.float32],
    *,
    dtype: type = np.float32,
) -> NDArray[Any]:
    """Apply a function that treats every pixel by itself.

    Parameters
    ----------
    function
        (h, W, C) float32 to (h, W, C) of ``dtype``.
    picture
        (H, W, C) float32.
    dtype
        Of the result.

    Returns
    -------
    NDArray
        (H, W, C) of ``dtype``, the same for any strip height and number of threads.
    """

    def write(part: NDArray[np.float32], out: NDArray[Any]) -> None:
        out[...] = function(part)

    return written_in_strips(write, picture, dtype=dtype)


def written_in_strips(
    write: Callable[[NDArray[np.float32], NDArray[Any]], None],
    picture: NDArray[np.float32],
    *,
    dtype: type = np.float32,
) -> NDArray[Any]:
    """As :func:`in_strips`, with a function that writes its result where it belongs."""
    height, width = picture.shape[:2]
    rows = max(1, STRIP_PIXELS // max(width, 1))
    out: NDArray[Any] = np.empty(picture.shape, dtype)

    def one(top: int) -> None:
        write(picture[top : top + rows], out[top : top + rows])

    each_in_threads(one, range(0, height, rows), None)
    return out
