"""Resizing in linear light by area (step 9)."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray


def resize(rgb: NDArray[np.float32], *, height: int, width: int) -> NDArray[np.float32]:
    """Scale a linear picture; every input pixel counts by the area it covers.

    Parameters
    ----------
    rgb
        (H, W) or (H, W, C) float32 linear light.
    height, width
        Size wanted, in pixels. Larger than the input: linear interpolation between pixel centres.

    Returns
    -------
    NDArray
        (height, width[, C]) float32. The mean of the picture is kept when it gets smaller.

    Examples
    --------
    >>> resize(np.float32([[0, 1, 2, 3]]), height=1, width=2).tolist()
    [[0.5, 2.5]]
    """
    if rgb.shape[:2] == (height, width):
        return rgb
    channels = rgb.shape[2:]
    rows = weights(rgb.shape[0], height) @ rgb.reshape(rgb.shape[0], -1)
    turned = np.ascontiguousarray(rows.reshape(height, rgb.shape[1], -1).transpose(1, 0, 2))
    columns = weights(rgb.shape[1], width) @ turned.reshape(rgb.shape[1], -1)
    out = columns.reshape(width, height, -1).transpose(1, 0, 2)
    return np.ascontiguousarray(out.reshape(height, width, *channels), dtype=np.float32)


def fit(height: int, width: int, long_edge: int | None) -> tuple[int, int]:
    """Height and width at which the longer side is ``long_edge``; never larger than they are.

    Examples
    --------
    >>> fit(800, 1200, 600), fit(800, 1200, 5000)
    ((400, 600), (800, 1200))
    """
    longest = max(height, width)
    if not long_edge or longest <= long_edge:
        return height, width
    return max(1, round(height * long_edge / longest)), max(1, round(width * long_edge / longest))


@lru_cache(maxsize=32)
def weights(before: int, after: int) -> Any:
    """Sparse (after, before) weights, each row summing to 1."""
    from scipy import sparse  # noqa: PLC0415  loaded where it is needed

    step = before / after
    if step < 1:
        centre = np.clip((np.arange(after) + 0.5) * step - 0.5, 0, before - 1)
        left = np.minimum(centre.astype(int), max(before - 2, 0))
        part = centre - left
        columns = np.stack([left, np.minimum(left + 1, before - 1)], axis=1)
        weights = np.stack([1 - part, part], axis=1)
    else:
        first = np.floor(np.arange(after) * step + 1e-9).astype(int)
        columns = first[:, None] + np.arange(int(np.ceil(step)) + 1)
        start, end = np.arange(after)[:, None] * step, np.arange(1, after + 1)[:, None] * step
        weights = np.clip(np.minimum(columns + 1, end) - np.maximum(columns, start), 0, None)
        weights[columns >= before] = 0
        counting = weights.any(axis=0)  # of a whole step the last pixel never counts
        weights, columns = weights[:, counting], np.minimum(columns, before - 1)[:, counting]
        weights /= weights.sum(axis=1, keepdims=True)
    rows = np.repeat(np.arange(after), columns.shape[1])
    return sparse.csr_array(
        (weights.ravel().astype(np.float32), (rows, columns.ravel())), shape=(after, before)
    )
