"""Black and white through a contrast filter (step 7)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from driftline.arrays import Oklab
from driftline.colorimetry.oklab import oklab_to_rec2020
from driftline.colorimetry.primaries import REC2020_LUMINANCE

FILTER_WEIGHTS: dict[str, tuple[float, float, float]] = {
    "none": (float(REC2020_LUMINANCE[0]), float(REC2020_LUMINANCE[1]), float(REC2020_LUMINANCE[2])),
    "yellow": (0.37, 0.73, -0.10),
    "deep-yellow": (0.50, 0.63, -0.13),
    "orange": (0.95, 0.18, -0.13),
    "red": (1.09, 0.03, -0.12),
    "deep-red": (1.16, -0.05, -0.11),
    "yellow-green": (0.08, 1.01, -0.09),
    "green": (-0.01, 1.11, -0.10),
    "blue": (0.04, 0.02, 0.94),
}
"""Weights of linear Rec. 2020 red, green, blue. They sum to 1: a grey is unchanged, as after the exposure
compensation that a filter asks for. ``none`` is luminance; against it each filter does, as nearly as three
weights can, what it does on a panchromatic film in daylight: fitted in stops over the 24 patches of the
chart. The film is even from 400 to 600 nm and ends at 655; yellow to red filters pass what lies above one
wavelength, which follows from their daylight factor (1.5, 2, 4, 8, 16; Kodak F-4016, the orange's common
practice), the others pass a band. The published factors in tungsten light then come out by themselves, which
a test shows."""


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
