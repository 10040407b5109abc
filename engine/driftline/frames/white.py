"""White balance multipliers: what is one, and whether the file's as-shot white is."""

from __future__ import annotations

from dataclasses import dataclass

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


@dataclass(frozen=True)
class AsShot:
    """What a file states as its white.

    Attributes
    ----------
    multipliers
        (3,) with green 1, or None.
    problem
        Why there are none, or ''.
    balanced
        Whether the sensor values were balanced before they were written, for a light that nobody stated.
    """

    multipliers: NDArray[np.float64] | None
    problem: str = ""
    balanced: bool = False


def as_shot_white(stated: ArrayLike, daylight: NDArray[np.float64], means: NDArray[np.float64]) -> AsShot:
    """Whether a stated as-shot white can be believed.

    Parameters
    ----------
    stated
        Red, green, blue (and second green) as the file states them.
    daylight
        (3,) multipliers that balance daylight for this camera.
    means
        (3,) mean signal of red, green and blue in the frame. It decides what 1, 1, 1 means for a camera that
        needs other multipliers in daylight: a picture that is nearer to grey as it is than it is with
        daylight's was balanced by the camera (d1.nef is such a file); else the file states no white.

    Examples
    --------
    >>> as_shot_white([-1.0, 0.976, 1.007, 0.0], np.array([2.1, 1.0, 1.06]), np.ones(3)).problem
    'the file states no usable as-shot white (red -1, green 0.976, blue 1.007); each must be positive'
    """
    as_shot = multipliers(stated)
    if as_shot is None:
        numbers = zip(_COLOURS, np.asarray(stated, dtype=np.float64), strict=False)
        words = ", ".join(f"{name} {value:.4g}" for name, value in numbers)
        return AsShot(None, f"the file states no usable as-shot white ({words}); each must be positive")
    if np.ptp(as_shot) > 0 or _cast(daylight) < 0.3:
        return AsShot(as_shot)
    if _cast(means) <= _cast(means * daylight):
        return AsShot(as_shot, balanced=True)
    needed = ", ".join(f"{value:.2f}" for value in daylight)
    return AsShot(
        None, f"the file states an as-shot white of 1, 1, 1, but its sensor needs {needed} in daylight"
    )


def _cast(rgb: NDArray[np.float64]) -> float:
    """How far a colour is from grey: the larger of red and blue against green, in stops."""
    return float(np.abs(np.log2(np.maximum(rgb, 1e-9) / max(rgb[1], 1e-9))).max())
