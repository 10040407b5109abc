"""The noise that a DNG file states for its own sensor values."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from driftline.frames.directories import Directories, Directory

NOISE_PROFILE, PLANE_COLOUR = 51041, 50710


def noise_profile(directories: Directories, dng: Directory | None) -> NDArray[np.float64] | None:
    """Scale and offset of the variance of each colour, (3, 2), or None if none that makes sense is stated.

    Parameters
    ----------
    directories
        What the file states.
    dng
        The directory of its sensor values, or None if it is not a DNG file.

    Notes
    -----
    NoiseProfile (DNG specification 1.4, tag 51041; from memory): of a value x, 0 at the black level and 1 at
    the white level, the noise has a standard deviation of ``sqrt(scale * x + offset)``. There is one pair for
    all colours, or one for each in the order of CFAPlaneColor. It stands in the first directory or in that of
    the sensor values. A pair of zeros, a negative number or more than 1 is no noise of any sensor.
    """
    if dng is None:
        return None
    stated = dng.numbers(NOISE_PROFILE) or directories.all[0].numbers(NOISE_PROFILE)
    planes = [int(plane) for plane in dng.numbers(PLANE_COLOUR)] or [0, 1, 2]
    if len(stated) not in {2, 6} or sorted(planes) != [0, 1, 2]:
        return None
    pairs = np.resize(np.asarray(stated), (3, 2))
    possible = np.isfinite(pairs).all() and (pairs >= 0).all() and (pairs <= 1).all()
    if not possible or not pairs.any(axis=1).all():
        return None
    return np.asarray(pairs[np.argsort(planes)])
