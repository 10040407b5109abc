"""Gamut mapping to the output space at constant OkLCh lightness and hue (step 8)."""

from __future__ import annotations

from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import Oklab
from driftline.colorimetry.oklab import LAB_TO_LMS, LMS_TO_REC2020, LMS_TO_SRGB
from driftline.colorimetry.primaries import REC2020_TO_P3

Space = Literal["srgb", "display-p3"]
LMS_TO_OUTPUT: dict[str, NDArray[Any]] = {"srgb": LMS_TO_SRGB, "display-p3": REC2020_TO_P3 @ LMS_TO_REC2020}
ROUNDS = 14
"""Halvings of the chroma interval: 2^-14 of the chroma is far below one 8-bit code value."""
SLACK = 5e-6
"""How far outside 0 … 1 counts as inside; clipped away at the end."""


def gamut(lab: Oklab, *, space: Space = "srgb") -> NDArray[np.float32]:
    """Bring colours into the output gamut by taking out chroma only.

    Parameters
    ----------
    lab
        (..., 3) Oklab.
    space
        ``srgb`` or ``display-p3``.

    Returns
    -------
    NDArray
        (..., 3) float32 linear output RGB in [0, 1].

    Notes
    -----
    Constant lightness and hue as in CSS Color 4, section 13 (gamut mapping), by bisection on chroma to the
    gamut's surface. Its shortcut of clipping within one just noticeable difference is left out: it makes
    a step where it sets in, and gradients have to stay smooth.

    Examples
    --------
    >>> gamut(np.float32([[1.2, 0.0, 0.0], [0.5, 0.0, 0.0]])).round(3).tolist()
    [[1.0, 1.0, 1.0], [0.125, 0.125, 0.125]]
    """
    matrix = LMS_TO_OUTPUT[space]
    rgb = _linear(lab, matrix)
    outside = ((rgb < -SLACK) | (rgb > 1 + SLACK)).any(axis=-1)
    if outside.any():
        rgb[outside] = _reduced(lab[outside], matrix)
    return np.asarray(np.clip(rgb, 0, 1))


def _reduced(lab: NDArray[Any], matrix: NDArray[Any]) -> NDArray[Any]:
    """The most chromatic colour inside the gamut on the line from grey to each colour."""
    grey = np.zeros_like(lab)
    grey[..., 0] = np.clip(lab[..., 0], 0, 1)
    chroma = lab - grey
    chroma[..., 0] = 0
    inside, beyond = np.zeros(len(lab), np.float32), np.ones(len(lab), np.float32)
    for _ in range(ROUNDS):
        middle = (inside + beyond) / 2
        rgb = _linear(grey + middle[:, None] * chroma, matrix)
        fits = ((rgb >= -SLACK) & (rgb <= 1 + SLACK)).all(axis=-1)
        inside, beyond = np.where(fits, middle, inside), np.where(fits, beyond, middle)
    return _linear(grey + inside[:, None] * chroma, matrix)


def _linear(lab: NDArray[Any], matrix: NDArray[Any]) -> NDArray[Any]:
    lms = lab @ LAB_TO_LMS.T.astype(np.float32)
    return np.asarray((lms * lms * lms) @ matrix.T.astype(np.float32))
