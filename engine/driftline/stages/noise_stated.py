"""How strong the noise of a frame is, from what its file states of its sensor."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.stages.noise_estimate import LEAST_READ, LEAST_SHOT, NoiseModel, three_digits


def stated_noise(profile: NDArray[Any], *, multipliers: NDArray[Any]) -> NoiseModel:
    """The noise of balanced values, from that of the values as recorded.

    Parameters
    ----------
    profile
        (3, 2) scale and offset of the variance of red, green and blue: ``scale * x + offset`` of a value x,
        0 black and 1 full, before any balance; none below 0.
    multipliers
        (3,) of the balance, green 1.

    Returns
    -------
    NoiseModel
        In balanced units, rounded to three digits. A multiplier m makes of x the value m x, whose variance
        is m² times that of x: m times the scale for each unit of m x.

    Examples
    --------
    >>> noise = stated_noise(np.full((3, 2), [4e-4, 1e-6]), multipliers=np.array([2.0, 1.0, 1.5]))
    >>> noise.shot, noise.read
    ((0.0008, 0.0004, 0.0006), (0.002, 0.001, 0.0015))
    """
    scale, offset = np.asarray(profile, dtype=float).T
    gain = np.asarray(multipliers, dtype=float)
    shot = [max(three_digits(value), LEAST_SHOT) for value in gain * scale]
    read = [max(three_digits(value), LEAST_READ) for value in gain * np.sqrt(offset)]
    return NoiseModel(shot=(shot[0], shot[1], shot[2]), read=(read[0], read[1], read[2]))
