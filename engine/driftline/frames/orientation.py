"""Which way up: EXIF orientation as array turns, and LibRaw's flip as EXIF orientation."""

from __future__ import annotations

from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

Array = TypeVar("Array", bound=np.generic)

# LibRaw's flip: 4 transposes, 2 turns top to bottom, 1 left to right; EXIF 2.3 (Orientation, tag 274).
_FLIP_TO_ORIENTATION = {0: 1, 1: 2, 3: 3, 2: 4, 4: 5, 6: 6, 7: 7, 5: 8}


def upright(pixels: NDArray[Array], orientation: int) -> NDArray[Array]:
    """Turn an array as an EXIF orientation asks, so that it is seen the right way up.

    Parameters
    ----------
    pixels
        (H, W) or (H, W, ...), as stored.
    orientation
        1 to 8 as in EXIF 2.3: what row 0 and column 0 of the stored picture are in the scene.

    Returns
    -------
    NDArray
        A view, not a copy; height and width are exchanged for 5 to 8.

    Examples
    --------
    >>> upright(np.array([[1, 2], [3, 4]]), 6).tolist()
    [[3, 1], [4, 2]]
    """
    if orientation in {5, 6, 7, 8}:
        pixels = pixels.swapaxes(0, 1)
    if orientation in {3, 4, 7, 8}:
        pixels = pixels[::-1]
    if orientation in {2, 3, 6, 7}:
        pixels = pixels[:, ::-1]
    return pixels


def as_stored(pixels: NDArray[Array], orientation: int) -> NDArray[Array]:
    """Undo :func:`upright`.

    Examples
    --------
    >>> as_stored(upright(np.array([[1, 2], [3, 4]]), 8), 8).tolist()
    [[1, 2], [3, 4]]
    """
    return upright(pixels, {6: 8, 8: 6}.get(orientation, orientation))


def flip_to_orientation(flip: int) -> int:
    """EXIF orientation of LibRaw's ``flip``.

    Examples
    --------
    >>> [flip_to_orientation(flip) for flip in (0, 1, 3, 5, 6)]
    [1, 2, 3, 8, 6]
    """
    return _FLIP_TO_ORIENTATION.get(flip, 1)


def exif_orientation(value: Any) -> int | None:
    """An EXIF Orientation value if it is one of the eight, else None.

    Examples
    --------
    >>> exif_orientation(6), exif_orientation(0), exif_orientation("junk")
    (6, None, None)
    """
    return value if isinstance(value, int) and 1 <= value <= 8 else None
