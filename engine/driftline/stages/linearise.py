"""Sensor values to linear, balanced photosites (step 2)."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import Mosaic


def linearise(
    values: NDArray[Any],
    *,
    pattern: NDArray[Any] | None,
    black: NDArray[Any],
    white: NDArray[Any],
    multipliers: NDArray[Any],
) -> Mosaic:
    """Subtract black, divide by the range, and balance for the as-shot light.

    Parameters
    ----------
    values
        (H, W) mosaic or (H, W, 3) planes, as the decoder gives them.
    pattern
        (p, q) of 0, 1, 2 for red, green, blue at ``values[0, 0]``; None for planes.
    black
        Black level of each photosite of the pattern, (p, q), or of each plane, (3,).
    white
        (3,) value at which red, green and blue clip.
    multipliers
        (3,) balance with green 1.

    Returns
    -------
    Mosaic
        float32, the shape of ``values``: 0 is black (noise reaches below), 1.0 is where green clips; red and
        blue clip at their multipliers. Nothing is clipped here.

    Examples
    --------
    >>> linearise(np.array([[762, 1512]], np.uint16), pattern=np.array([[0, 1]]),
    ...           black=np.array([[512, 512]]), white=np.array([2512] * 3),
    ...           multipliers=np.array([2.0, 1.0, 1.5])).tolist()
    [[0.25, 0.5]]
    """
    if pattern is None:
        scale = np.asarray(multipliers, np.float64) / (np.asarray(white) - black)
        level, gain = black.astype(np.float32), scale.astype(np.float32)
        return np.asarray((values.astype(np.float32) - level) * gain)
    out = values.astype(np.float32)
    rows, columns = pattern.shape
    for row in range(rows):
        for column in range(columns):
            colour = int(pattern[row, column])
            dark = np.float32(black[row, column])
            factor = np.float32(multipliers[colour] / (white[colour] - black[row, column]))
            site: NDArray[Any] = out[row::rows, column::columns]
            site[...] = (site - dark) * factor
    return out
