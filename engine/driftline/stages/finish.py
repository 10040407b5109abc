"""Acutance: edge contrast at the scale of a pixel, without wide halos (step 9)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.primaries import SRGB_LUMINANCE

RADIUS_PX = 0.7
"""Standard deviation of the blur that the edge signal is taken against."""
GAIN = 1.5
"""Edge signal added at acutance 1."""
OVERSHOOT = 0.25
"""How far, of the local 3 x 3 range, an edge may go beyond its own neighbours."""


def finish(
    rgb: NDArray[np.float32], *, acutance: float = 0.0, radius_px: float = RADIUS_PX
) -> NDArray[np.float32]:
    """Raise edge contrast of a linear picture.

    Parameters
    ----------
    rgb
        (H, W, 3) linear output RGB, 0 … 1.
    acutance
        0 … 1.
    radius_px
        The blur's standard deviation; halos are no wider than twice that.

    Returns
    -------
    NDArray
        (H, W, 3) float32 in [0, 1]. The edge signal is taken on the cube root of luminance, in which dark
        and light edges look alike, and added to all channels alike; flat areas are unchanged.
    """
    if not acutance:
        return rgb
    from scipy import ndimage  # noqa: PLC0415  loaded where it is needed

    luminance = rgb @ SRGB_LUMINANCE.astype(np.float32)
    light = np.cbrt(luminance)
    edge = light - ndimage.gaussian_filter(light, radius_px, mode="nearest", truncate=3.0)
    low = ndimage.minimum_filter(light, 3, mode="nearest")
    high = ndimage.maximum_filter(light, 3, mode="nearest")
    room = np.float32(OVERSHOOT) * (high - low)
    sharp = np.clip(light + np.float32(acutance * GAIN) * edge, low - room, high + room)
    return np.asarray(np.clip(rgb + (sharp**3 - luminance)[..., None], 0, 1), dtype=np.float32)
