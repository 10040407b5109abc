"""Crop and turn: which part of the picture is kept, and how it stands (a frame's correction, step 9)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def crop(
    rgb: NDArray[np.float32], *, left: float, top: float, right: float, bottom: float
) -> NDArray[np.float32]:
    """Keep a part of the picture, given as fractions of its width and height from the top left.

    Examples
    --------
    >>> crop(np.zeros((10, 20, 3), np.float32), left=0.1, top=0.0, right=1.0, bottom=0.5).shape
    (5, 18, 3)
    """
    height, width = rgb.shape[:2]
    rows = slice(round(top * height), max(round(bottom * height), round(top * height) + 1))
    columns = slice(round(left * width), max(round(right * width), round(left * width) + 1))
    return rgb[rows, columns]


def turn(rgb: NDArray[np.float32], *, degrees: float) -> NDArray[np.float32]:
    """Turn the picture about its centre and keep the largest part of its own proportions that is whole.

    Parameters
    ----------
    rgb
        (H, W, 3) linear light, 0 … 1.
    degrees
        + is clockwise; -45 … 45.

    Returns
    -------
    NDArray
        (h, w, 3) float32 in [0, 1]: no corner is empty. Interpolated by cubic splines.

    Examples
    --------
    >>> turn(np.ones((40, 60, 3), np.float32), degrees=5.0).shape
    (35, 53, 3)
    """
    if not degrees:
        return rgb
    from scipy import ndimage  # noqa: PLC0415  loaded where it is needed

    height, width = rgb.shape[:2]
    angle = np.radians(degrees)
    share = kept_share(height, width, degrees=degrees)
    rows, columns = max(1, int(height * share)), max(1, int(width * share))
    # Output (row, column) about the centre -> input: a clockwise picture is looked up anticlockwise.
    look_up = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    middle_in = np.array([(height - 1) / 2, (width - 1) / 2])
    middle_out = np.array([(rows - 1) / 2, (columns - 1) / 2])
    offset = middle_in - look_up @ middle_out
    out = np.empty((rows, columns, rgb.shape[2]), np.float32)
    for channel in range(rgb.shape[2]):
        ndimage.affine_transform(
            rgb[..., channel],
            look_up,
            offset=offset,
            output=out[..., channel],
            output_shape=(rows, columns),
            order=3,
            mode="nearest",
        )
    return np.clip(out, 0, 1, out=out)


def kept_share(height: int, width: int, *, degrees: float) -> float:
    """The largest share of both sides such that the turned part lies inside the picture.

    Examples
    --------
    >>> round(kept_share(100, 100, degrees=45.0), 4), kept_share(100, 150, degrees=0.0)
    (0.7071, 1.0)
    """
    c, s = abs(np.cos(np.radians(degrees))), abs(np.sin(np.radians(degrees)))
    return float(min(width / (width * c + height * s), height / (width * s + height * c), 1.0))
