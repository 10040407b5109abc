"""The recipe's characteristic curve, in stops about middle grey, on luminance (step 6)."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import SceneRGB
from driftline.colorimetry.primaries import REC2020_LUMINANCE
from driftline.stages.standing import MIDDLE_GREY

BEND = 0.7
"""How far toe or shoulder at ±1 bend the slope in the far end: to 0.3 or 1.7 of it. Below 1, so that the
curve stays monotone for every allowed value."""
REACH_STOPS = 2.0
"""Distance from middle grey at which half of that bend is reached: shadows and highlights, not mid-tones."""
FLOOR_STOPS = -14.0
"""Below this the curve goes on as a constant gain: nothing of a picture lies there but noise."""


def characteristic(
    stops: NDArray[Any], *, slope: float = 1.0, toe: float = 0.0, shoulder: float = 0.0
) -> NDArray[Any]:
    """Stops about middle grey before the curve to stops after it.

    Parameters
    ----------
    stops
        Any shape, log2 of luminance over middle grey.
    slope
        Contrast at middle grey, exactly.
    toe
        -1 … 1: shadows opened … closed.
    shoulder
        -1 … 1: highlights steeper … rolling off more gently.

    Returns
    -------
    NDArray
        Same shape; 0 stays 0; strictly increasing; first and second derivative continuous.

    Notes
    -----
    The slope at distance u is ``slope (1 ± BEND k u² / (u² + REACH²))``, which integrates to the arctangent
    below. Slope, toe and shoulder have the meaning of sensitometry (Hurter and Driffield 1890).

    Examples
    --------
    >>> characteristic(np.array([-2.0, 0.0, 2.0]), slope=1.2).round(6).tolist()
    [-2.4, 0.0, 2.4]
    """
    bent = stops - REACH_STOPS * np.arctan(stops / REACH_STOPS)
    return np.asarray(slope * (stops + np.where(stops < 0, BEND * toe, -BEND * shoulder) * bent))


def curve(rgb: SceneRGB, *, slope: float = 1.0, toe: float = 0.0, shoulder: float = 0.0) -> SceneRGB:
    """Apply the characteristic curve to luminance and scale RGB by the same factor.

    Chromaticity is left alone: contrast does not touch chroma. Typical slopes are 0.9 to 1.3.

    Parameters
    ----------
    rgb
        (..., 3) scene-linear Rec. 2020.
    slope, toe, shoulder
        As in :func:`characteristic`.

    Returns
    -------
    SceneRGB
        (..., 3) float32; middle grey stays where it is.
    """
    if slope == 1 and toe == 0 and shoulder == 0:
        return rgb
    luminance = rgb @ REC2020_LUMINANCE.astype(np.float32)
    floor = np.float32(MIDDLE_GREY * 2.0**FLOOR_STOPS)
    stops = np.log2(np.maximum(luminance, floor) / np.float32(MIDDLE_GREY))
    gain = np.exp2(characteristic(stops, slope=slope, toe=toe, shoulder=shoulder) - stops)
    return np.asarray(rgb * gain[..., None].astype(np.float32))
