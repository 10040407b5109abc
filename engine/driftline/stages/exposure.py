"""Exposure: a gain in scene-linear light (step 5)."""

from __future__ import annotations

import numpy as np

from driftline.arrays import SceneRGB


def exposure(rgb: SceneRGB, *, ev: float = 0.0) -> SceneRGB:
    """Multiply linear light by 2^ev.

    Parameters
    ----------
    rgb
        (..., 3) scene-linear.
    ev
        Exposure value; +1 doubles the light.

    Examples
    --------
    >>> exposure(np.float32([0.1, 0.2, 0.4]), ev=1.0).tolist() == np.float32([0.2, 0.4, 0.8]).tolist()
    True
    """
    return np.asarray(rgb * np.float32(2.0**ev)) if ev else rgb
