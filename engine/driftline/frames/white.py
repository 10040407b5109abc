"""White balance multipliers: what is one, and whether the file's as-shot white is."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

_COLOURS = ("red", "green", "blue")


def multipliers(values: ArrayLike) -> NDArray[np.float64] | None:
    """Three multipliers with green 1, or None unless red, green and blue are all finite and positive.

    Examples
    --------
    >>> multipliers([2.0, 0.5, 1.0, 0.0]).tolist(), multipliers([-1, 0.976, 1.007, 0])
    ([4.0, 1.0, 2.0], None)
    """
    rgb = np.asarray(values, dtype=np.float64)[:3]
    if rgb.size < 3 or not (np.isfinite(rgb).all() and (rgb > 0).all()):
        return None
    return np.asarray(rgb / rgb[1])


def as_shot_white(stated: ArrayLike, daylight: NDArray[np.float64]) -> tuple[NDArray[np.float64] | None, str]:
    """The as-shot multipliers, or why there are none.

    Parameters
    ----------
    stated
        Red, green, blue (and second green) as the file states them.
    daylight
        (3,) multipliers that balance daylight for this camera.

    Returns
    -------
    multipliers, problem
        (3,) with green 1 and '', or None and the reason. 1, 1, 1 is believed only of a camera that needs
        about that in daylight: of any other it is what a file writes that states nothing.

    Examples
    --------
    >>> as_shot_white([-1.0, 0.976, 1.007, 0.0], np.array([2.1, 1.0, 1.06]))[1]
    'the file states no usable as-shot white (red -1, green 0.976, blue 1.007); each must be positive'
    """
    as_shot = multipliers(stated)
    if as_shot is None:
        numbers = zip(_COLOURS, np.asarray(stated, dtype=np.float64), strict=False)
        words = ", ".join(f"{name} {value:.4g}" for name, value in numbers)
        return None, f"the file states no usable as-shot white ({words}); each must be positive"
    if np.ptp(as_shot) == 0 and np.abs(np.log2(daylight)).max() > 0.3:
        needed = ", ".join(f"{value:.2f}" for value in daylight)
        return None, f"the file states an as-shot white of 1, 1, 1, but its sensor needs {needed} in daylight"
    return as_shot, ""
