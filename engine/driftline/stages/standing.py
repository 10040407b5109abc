"""The standing curve: scene-referred to display-referred, per channel, the last word on highlights (step 6).

A camera's own rendering lifts the mid-tones over a linear one, steepens them a little, and rolls off
towards white. This curve does so with four numbers, all stated in stops about middle grey.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import DisplayRGB, SceneRGB

MIDDLE_GREY = 0.18 / np.sqrt(2.0)
"""Scene value, in units of green's saturation, that is shown as 0.18: ISO 12232 defines saturation-based
speed so that a metered 18 % grey lands at 18 % / sqrt 2 of saturation (half a stop of headroom)."""
SHOWN_GREY = 0.18
"""Display luminance of middle grey: sRGB code value 118."""
MID_SLOPE = 1.3
"""Contrast at middle grey, log-log: prints and screens are looked at in dimmer light than the scene."""
WHITE_STOPS = 3.5
"""Stops above middle grey that reach display white: half a stop beyond saturation, room for rebuilt
highlights."""
TOE_REACH_STOPS = 3.0
"""Distance below middle grey by which the extra slope has half gone: blacks end in a straight line."""


Tone = tuple[NDArray[np.float64], NDArray[np.float64]]
"""A learned curve: stops about middle grey in the scene, rising, and stops about 0.18 on the display."""


def standing(rgb: SceneRGB, *, tone: Tone | None = None) -> DisplayRGB:
    """Map scene-linear to display-linear light, each channel by itself.

    Parameters
    ----------
    rgb
        Any shape, scene-linear; 1.0 is where green clips.
    tone
        A camera's own curve instead of the default one.

    Returns
    -------
    DisplayRGB
        Same shape, float32, 0 … 1; values at or below 0 give 0.

    Examples
    --------
    >>> round(float(standing(np.float32(MIDDLE_GREY))), 4)
    0.18
    """
    stops = np.log2(np.maximum(rgb, np.float32(1e-9)) / np.float32(MIDDLE_GREY))
    shown = np.float32(SHOWN_GREY) * np.exp2(shown_stops(stops, tone=tone)).astype(np.float32)
    return np.asarray(np.where(rgb > 0, shown, np.float32(0)), dtype=np.float32)


def shown_stops(stops: NDArray[Any], *, tone: Tone | None = None) -> NDArray[Any]:
    """The curve itself: stops about middle grey in the scene to stops about 0.18 on the display.

    A learned curve is interpolated monotonically (Fritsch and Carlson 1980, as SciPy's PCHIP has it); below
    its first point it goes on with slope 1, above its last it stays.

    Above: ``t = W (1 - (1 - u / white)^p)`` with W = log2(1 / 0.18), p set by the slope at 0. Below:
    ``t = u + (slope - 1) r arctan(u / r)``, whose slope falls from ``slope`` to 1. C1 at 0, increasing up to
    white, flat from there.
    """
    top = np.log2(1 / SHOWN_GREY)
    if tone is not None:
        return np.asarray(np.minimum(_learned(stops, tone), top))
    power = MID_SLOPE * WHITE_STOPS / top
    above = top * (1 - np.power(np.clip(1 - stops / WHITE_STOPS, 0, 1), power))
    below = stops + (MID_SLOPE - 1) * TOE_REACH_STOPS * np.arctan(stops / TOE_REACH_STOPS)
    return np.asarray(np.where(stops < 0, below, above))


def _learned(stops: NDArray[Any], tone: Tone) -> NDArray[Any]:
    from scipy.interpolate import PchipInterpolator  # noqa: PLC0415  loaded where it is needed

    scene, shown = tone
    inside = PchipInterpolator(scene, shown)(np.clip(stops, scene[0], scene[-1]))
    return np.asarray(inside + np.minimum(stops - scene[0], 0))
