"""Decodes that succeed into nothing, or into a picture with holes."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from driftline.errors import FrameError

FEWEST_VALUES = 8
MOST_ZERO_ROWS = 0.04
_SAMPLE = 1 << 17
_HINT = "copy the file again from the card or a backup"


def largest_in_rows(values: NDArray[np.uint16]) -> NDArray[np.uint16]:
    """The largest value of each row, (H,): all that most frames need be asked about their extremes.

    Parameters
    ----------
    values
        (H, W) or (H, W, 3).
    """
    return np.asarray(values.reshape(values.shape[0], -1).max(axis=1))


def refuse_nothing(
    path: Path,
    values: NDArray[np.uint16],
    black: float,
    white: float,
    *,
    largest: NDArray[np.uint16] | None = None,
) -> str:
    """Refuse sensor values that cannot be a picture; of small holes, say so.

    Parameters
    ----------
    path
        For messages.
    values
        (H, W) or (H, W, 3), as decoded.
    black, white
        The least black level and the white level.
    largest
        In each row, if it is known.

    Returns
    -------
    str
        A doubt, or ''.

    Raises
    ------
    FrameError
        ``frame-empty`` if all values are one, or fewer than eight differ though the levels span ten bits or
        more (a frame shot in the dark still shows its noise); ``frame-damaged`` if more than 4 % of the rows
        hold nothing but zeros and the picture beside them does not fade into them.
    """
    largest = largest_in_rows(values) if largest is None else largest
    decodes = f"{path}: the sensor data decode without an error, but"
    if largest.min() == largest.max() == values.min():
        raise FrameError("frame-empty", f"{decodes} every value is {largest[0]}", hint=_HINT)
    bits = float(np.log2(white - black + 1))
    found = _distinct(values, FEWEST_VALUES)
    if bits >= 10 and found < FEWEST_VALUES:
        words = f"hold only {found} different values where {bits:.0f} bits are expected"
        raise FrameError("frame-empty", f"{decodes} {words}", hint=_HINT)
    rows = zero_rows(values, certain=black > 0, largest=largest)
    if rows > MOST_ZERO_ROWS * values.shape[0]:
        words = f"{rows} of {values.shape[0]} rows hold nothing but zeros"
        raise FrameError("frame-damaged", f"{decodes} {words}", hint=_HINT)
    return f"{rows} of {values.shape[0]} rows hold nothing but zeros" if rows else ""


def zero_rows(values: NDArray[np.uint16], *, certain: bool, largest: NDArray[np.uint16] | None = None) -> int:
    """How many rows hold nothing but zeros where a picture should be.

    Parameters
    ----------
    values
        (H, W) or (H, W, 3).
    certain
        Whether zeros cannot be shadows, because black lies above zero. Otherwise they count only if in the
        rows that border on them nine values of ten are not zero.
    largest
        In each row, if it is known.

    Examples
    --------
    >>> zero_rows(np.array([[9, 8], [7, 9], [0, 0]], dtype=np.uint16), certain=False)
    1
    """
    zero = (largest_in_rows(values) if largest is None else largest) == 0
    if certain or not zero.any():
        return int(zero.sum())
    rows = values.reshape(values.shape[0], -1)
    beside = np.zeros_like(zero)
    beside[1:] |= zero[:-1]
    beside[:-1] |= zero[1:]
    border = rows[beside & ~zero]
    filled = np.count_nonzero(border) / border.size if border.size else 0.0
    return int(zero.sum()) if filled > 0.9 else 0


def _distinct(values: NDArray[np.uint16], enough: int) -> int:
    """How many different values there are; a sample settles it where it shows enough of them."""
    flat = values.reshape(-1)
    step = max(flat.size // _SAMPLE, 1) | 1  # odd, so that a sample meets every colour of a mosaic
    found = np.count_nonzero(np.bincount(flat[::step]))
    return int(found if found >= enough or step == 1 else np.count_nonzero(np.bincount(flat)))
