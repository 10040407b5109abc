"""The colour filter patterns that tests see pictures through: 0 red, 1 green, 2 blue."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.stages.demosaic_margin import colours_of

RGGB = np.array([[0, 1], [1, 2]], dtype=np.uint8)
SIX_BY_SIX = np.array(
    [
        [1, 2, 1, 1, 0, 1],
        [0, 1, 0, 2, 1, 2],
        [1, 2, 1, 1, 0, 1],
        [1, 0, 1, 1, 2, 1],
        [2, 1, 2, 0, 1, 0],
        [1, 0, 1, 1, 2, 1],
    ],
    dtype=np.uint8,
)
FOUR_BY_FOUR = np.repeat(np.repeat(RGGB, 2, axis=0), 2, axis=1)
STRIPES = np.array([[0, 1, 2]], dtype=np.uint8)


def seen_through(picture: NDArray[Any], pattern: NDArray[Any]) -> NDArray[Any]:
    """The mosaic of a picture (H, W, 3)."""
    return np.take_along_axis(picture, colours_of(pattern, picture.shape)[..., None], axis=2)[..., 0]
