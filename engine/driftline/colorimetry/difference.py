"""CIELAB and CIEDE2000 (CIE 142-2001; formula and test pairs of Sharma, Wu, Dalal 2005)."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from driftline.colorimetry.primaries import D65_XY, SRGB_TO_XYZ, xy_to_XYZ


def XYZ_to_lab(XYZ: ArrayLike, white_XYZ: ArrayLike) -> NDArray[np.float64]:
    """CIELAB of XYZ (CIE 15).

    Parameters
    ----------
    XYZ
        (..., 3), on the scale of ``white_XYZ``.
    white_XYZ
        (3,) reference white.
    """
    ratio = np.asarray(XYZ, dtype=np.float64) / np.asarray(white_XYZ, dtype=np.float64)
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio * (29 / 6) ** 2 / 3 + 4 / 29)
    fx, fy, fz = np.moveaxis(f, -1, 0)
    return np.stack([116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz)], axis=-1)


def srgb_to_lab(linear: NDArray[Any]) -> NDArray[np.float64]:
    """CIELAB (D65) of linear sRGB, shape (..., 3)."""
    return XYZ_to_lab(np.asarray(linear, dtype=np.float64) @ SRGB_TO_XYZ.T, xy_to_XYZ(D65_XY))


def ciede2000(lab_1: ArrayLike, lab_2: ArrayLike, *, k_lightness: float = 1.0) -> NDArray[np.float64]:
    """The CIEDE2000 colour difference.

    Parameters
    ----------
    lab_1, lab_2
        (..., 3) CIELAB.
    k_lightness
        Parametric factor k_L; 2 halves the weight of lightness, as found for pictures.

    Returns
    -------
    NDArray
        (...,) ΔE00, ≥ 0, symmetric.

    Examples
    --------
    >>> round(float(ciede2000([50, 2.6772, -79.7751], [50, 0, -82.7485])), 4)
    2.0425
    """
    L1, a1, b1 = np.moveaxis(np.asarray(lab_1, dtype=np.float64), -1, 0)
    L2, a2, b2 = np.moveaxis(np.asarray(lab_2, dtype=np.float64), -1, 0)
    mean_C7 = _seventh((np.sqrt(a1 * a1 + b1 * b1) + np.sqrt(a2 * a2 + b2 * b2)) / 2)
    stretch = 1 + (1 - np.sqrt(mean_C7 / (mean_C7 + 25.0**7))) / 2
    (C1, h1), (C2, h2) = _polar(a1 * stretch, b1), _polar(a2 * stretch, b2)

    grey = C1 * C2 == 0
    dh = np.where(grey, 0.0, h2 - h1)
    dh = np.where(dh >= 180, dh - 360, np.where(dh < -180, dh + 360, dh))
    dh = np.where((h2 - h1 == 180) & ~grey, 180.0, dh)  # the formula keeps +180 as it is
    dL, dC, dH = L2 - L1, C2 - C1, 2 * np.sqrt(C1 * C2) * np.sin(np.radians(dh) / 2)

    L, C = (L1 + L2) / 2, (C1 + C2) / 2
    C7 = _seventh(C)
    total = h1 + h2
    h = np.where(np.abs(h1 - h2) <= 180, total / 2, np.where(total < 360, total / 2 + 180, total / 2 - 180))
    h = np.where(grey, total, h)

    def cosine(degrees: NDArray[Any]) -> NDArray[Any]:
        return np.asarray(np.cos(np.radians(degrees)))

    T = 1 - 0.17 * cosine(h - 30) + 0.24 * cosine(2 * h)
    T += 0.32 * cosine(3 * h + 6) - 0.20 * cosine(4 * h - 63)
    lightness = dL / (k_lightness * (1 + 0.015 * (L - 50) ** 2 / np.sqrt(20 + (L - 50) ** 2)))
    chroma = dC / (1 + 0.045 * C)
    hue = dH / (1 + 0.015 * C * T)
    turn = np.radians(60 * np.exp(-(((h - 275) / 25) ** 2)))
    rotation = -np.sin(turn) * 2 * np.sqrt(C7 / (C7 + 25.0**7))
    squared = lightness**2 + chroma**2 + hue**2 + rotation * chroma * hue
    return np.asarray(np.sqrt(np.maximum(squared, 0.0)))


def _polar(a: NDArray[Any], b: NDArray[Any]) -> tuple[NDArray[Any], NDArray[Any]]:
    """Chroma, and hue from 0 to 360 degrees."""
    hue = np.degrees(np.arctan2(b, a))
    return np.sqrt(a * a + b * b), np.where(hue < 0, hue + 360, hue)


def _seventh(C: NDArray[Any]) -> NDArray[Any]:
    """C to the seventh power; products take a tenth of the time of a power."""
    cube = C * C * C
    return np.asarray(cube * cube * C)
