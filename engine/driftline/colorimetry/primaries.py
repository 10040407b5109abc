"""RGB spaces as matrices to and from XYZ (CIE 1931, 2 degrees, Y of white 1).

Every inverse is computed, never typed. Chromaticities: IEC 61966-2-1 (sRGB), ITU-R BT.2020,
SMPTE EG 432-1 (P3 primaries, here with D65 white: Display P3).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from driftline.arrays import Matrix

D65_XY = (0.3127, 0.3290)
D50_XY = (0.3457, 0.3585)
REC2020_XY = ((0.708, 0.292), (0.170, 0.797), (0.131, 0.046))
SRGB_XY = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
P3_XY = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
ADOBE_RGB_1998_XY = ((0.64, 0.33), (0.21, 0.71), (0.15, 0.06))


def xy_to_XYZ(xy: ArrayLike) -> Matrix:
    """XYZ with Y = 1 of a chromaticity.

    Examples
    --------
    >>> xy_to_XYZ(D65_XY).round(6).tolist()
    [0.950456, 1.0, 1.089058]
    """
    x, y = np.asarray(xy, dtype=np.float64)
    return np.array([x / y, 1.0, (1 - x - y) / y])


def XYZ_to_xy(XYZ: ArrayLike) -> Matrix:
    """Chromaticity (x, y) of one XYZ."""
    XYZ = np.asarray(XYZ, dtype=np.float64)
    return np.asarray(XYZ[:2] / XYZ.sum())


def rgb_to_XYZ(primaries_xy: ArrayLike, white_xy: ArrayLike) -> Matrix:
    """Matrix from linear RGB to XYZ for given primaries and white (SMPTE RP 177).

    Parameters
    ----------
    primaries_xy
        (3, 2) chromaticities of red, green, blue.
    white_xy
        (2,) chromaticity of white.

    Returns
    -------
    Matrix
        (3, 3) float64; (1, 1, 1) maps to the white with Y = 1.
    """
    columns = np.stack([xy_to_XYZ(xy) for xy in np.asarray(primaries_xy)], axis=1)
    return np.asarray(columns * np.linalg.solve(columns, xy_to_XYZ(white_xy)))


SRGB_TO_XYZ = rgb_to_XYZ(SRGB_XY, D65_XY)
REC2020_TO_XYZ = rgb_to_XYZ(REC2020_XY, D65_XY)
P3_TO_XYZ = rgb_to_XYZ(P3_XY, D65_XY)
ADOBE_RGB_1998_TO_XYZ = rgb_to_XYZ(ADOBE_RGB_1998_XY, D65_XY)

SRGB_TO_REC2020 = np.linalg.solve(REC2020_TO_XYZ, SRGB_TO_XYZ)
REC2020_TO_SRGB = np.linalg.inv(SRGB_TO_REC2020)
REC2020_TO_P3 = np.linalg.solve(P3_TO_XYZ, REC2020_TO_XYZ)
ADOBE_RGB_1998_TO_SRGB = np.linalg.solve(SRGB_TO_XYZ, ADOBE_RGB_1998_TO_XYZ)

REC2020_LUMINANCE = REC2020_TO_XYZ[1]
SRGB_LUMINANCE = SRGB_TO_XYZ[1]
