"""Dodge: one soft round spot made lighter or darker, in scene-linear light (a frame's correction)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def dodge(
    rgb: NDArray[np.float32], *, x: float, y: float, radius: float, ev: float = 0.0
) -> NDArray[np.float32]:
    """Multiply light by 2^(ev w), where w falls from 1 at the centre to 0 at the radius.

    Parameters
    ----------
    rgb
        (H, W, 3) linear light.
    x, y
        Centre as fractions of width and height, from the top left.
    radius
        As a fraction of the longer side; beyond it nothing changes.
    ev
        At the centre; + is lighter (dodged), - darker (burnt in).

    Returns
    -------
    NDArray
        (H, W, 3) float32. The fall-off is cos²(90° r / radius): no edge is seen.

    Examples
    --------
    >>> spot = dodge(np.ones((5, 5, 1), np.float32), x=0.5, y=0.5, radius=0.3, ev=1.0)[..., 0]
    >>> float(spot[2, 2]), float(spot[0, 0])
    (2.0, 1.0)
    """
    if not ev:
        return rgb
    height, width = rgb.shape[:2]
    down = (np.arange(height, dtype=np.float32) + np.float32(0.5) - np.float32(y * height))[:, None]
    right = (np.arange(width, dtype=np.float32) + np.float32(0.5) - np.float32(x * width))[None, :]
    distance = np.sqrt(down * down + right * right) / np.float32(radius * max(height, width))
    weight = np.cos(np.minimum(distance, 1) * np.float32(np.pi / 2)) ** 2
    return np.asarray(rgb * np.exp2(np.float32(ev) * weight)[..., None], dtype=np.float32)
