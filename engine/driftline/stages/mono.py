"""Black and white through a contrast filter (step 7)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from driftline.arrays import Oklab
from driftline.colorimetry.oklab import oklab_to_rec2020
from driftline.colorimetry.primaries import REC2020_LUMINANCE

FILTER_WEIGHTS: dict[str, tuple[float, float, float]] = {
    "none": (float(REC2020_LUMINANCE[0]), float(REC2020_LUMINANCE[1]), float(REC2020_LUMINANCE[2])),
    "yellow": (0.40, 0.60, 0.00),
    "deep-yellow": (0.55, 0.45, 0.00),
    "orange": (0.75, 0.25, 0.00),
    "red": (1.00, 0.00, 0.00),
    "deep-red": (1.15, -0.15, 0.00),
    "yellow-green": (0.22, 0.76, 0.02),
    "green": (0.05, 0.92, 0.03),
    "blue": (0.00, 0.12, 0.88),
}
"""Weights of linear Rec. 2020 red, green, blue. They sum to 1: a grey is unchanged, as after the exposure
compensation that a filter asks for. Their order of sky darkening (yellow < deep yellow < orange < red < deep
red) and what they lighten follow the filter tables of film data sheets; the numbers are ours."""


def mono(lab: Oklab, *, weights: Sequence[float]) -> Oklab:
    """Weigh linear red, green and blue into one grey.

    Parameters
    ----------
    lab
        (..., 3) Oklab.
    weights
        (3,) for linear Rec. 2020, summing to 1; a weight may be negative.

    Returns
    -------
    Oklab
        (..., 3) float32 with a = b = 0.

    Examples
    --------
    >>> mono(np.float32([[0.5, 0.0, 0.0]]), weights=FILTER_WEIGHTS["red"]).round(4).tolist()
    [[0.5, 0.0, 0.0]]
    """
    light = oklab_to_rec2020(lab) @ np.asarray(weights, np.float32)
    out = np.zeros_like(lab)
    out[..., 0] = np.cbrt(np.maximum(light, 0))
    return out
