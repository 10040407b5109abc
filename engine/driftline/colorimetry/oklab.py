"""Oklab and OkLCh (Björn Ottosson, 'A perceptual color space for image processing', 2020).

The published matrices are used as they are (M1 from XYZ, M2), not the later float64 variant of CSS
Color 4, which differs in the fourth digit. Linear RGB goes through XYZ with the primaries of
:mod:`driftline.colorimetry.primaries`, and M1 is scaled by 1 part in 10^4 a row so that D65 white is
exactly L = 1, a = b = 0.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.encodings import floating_dtype
from driftline.colorimetry.primaries import D65_XY, REC2020_TO_XYZ, SRGB_TO_XYZ, xy_to_XYZ

XYZ_TO_LMS = np.array(
    [
        [0.8189330101, 0.3618667424, -0.1288597137],
        [0.0329845436, 0.9293118715, 0.0361456387],
        [0.0482003018, 0.2643662691, 0.6338517070],
    ]
)
LMS_TO_LAB = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)
LAB_TO_LMS = np.linalg.inv(LMS_TO_LAB)
LMS_TO_XYZ = np.linalg.inv(XYZ_TO_LMS)

_WHITE_LMS = XYZ_TO_LMS @ xy_to_XYZ(D65_XY)
REC2020_TO_LMS = (XYZ_TO_LMS @ REC2020_TO_XYZ) / _WHITE_LMS[:, None]
SRGB_TO_LMS = (XYZ_TO_LMS @ SRGB_TO_XYZ) / _WHITE_LMS[:, None]
LMS_TO_REC2020 = np.linalg.inv(REC2020_TO_LMS)
LMS_TO_SRGB = np.linalg.inv(SRGB_TO_LMS)


def XYZ_to_oklab(XYZ: NDArray[Any]) -> NDArray[Any]:
    """Oklab of XYZ (D65, Y of white 1), by the published matrices without scaling.

    Examples
    --------
    >>> XYZ_to_oklab(np.array([1.0, 0.0, 0.0])).round(3).tolist()
    [0.45, 1.236, -0.019]
    """
    return _lms_to_lab(_product(XYZ, XYZ_TO_LMS))


def rec2020_to_oklab(rgb: NDArray[Any]) -> NDArray[Any]:
    """Oklab of linear Rec. 2020 (D65).

    Parameters
    ----------
    rgb
        (..., 3) linear, display-referred, 0 … 1 nominal; negatives are allowed.

    Returns
    -------
    NDArray
        (..., 3) L, a, b in the dtype of the input; equal channels give a = b = 0 within rounding.
    """
    return _lms_to_lab(_product(rgb, REC2020_TO_LMS))


def oklab_to_rec2020(lab: NDArray[Any]) -> NDArray[Any]:
    """Linear Rec. 2020 (D65) of Oklab; the inverse of :func:`rec2020_to_oklab`."""
    return _product(_product(lab, LAB_TO_LMS) ** 3, LMS_TO_REC2020)


def srgb_to_oklab(rgb: NDArray[Any]) -> NDArray[Any]:
    """Oklab of linear sRGB.

    Examples
    --------
    >>> srgb_to_oklab(np.array([1.0, 0.0, 0.0])).round(3).tolist()
    [0.628, 0.225, 0.126]
    """
    return _lms_to_lab(_product(rgb, SRGB_TO_LMS))


def oklab_to_srgb(lab: NDArray[Any]) -> NDArray[Any]:
    """Linear sRGB of Oklab; the inverse of :func:`srgb_to_oklab`; out of gamut gives values outside 0 … 1."""
    return _product(_product(lab, LAB_TO_LMS) ** 3, LMS_TO_SRGB)


def oklab_to_oklch(lab: NDArray[Any]) -> NDArray[Any]:
    """(..., 3) lightness, chroma, hue in degrees 0 … 360."""
    L, a, b = np.moveaxis(lab, -1, 0)
    return np.stack([L, np.hypot(a, b), np.degrees(np.arctan2(b, a)) % 360], axis=-1).astype(
        floating_dtype(lab)
    )


def oklch_to_oklab(lch: NDArray[Any]) -> NDArray[Any]:
    """(..., 3) Oklab of lightness, chroma, hue in degrees."""
    L, C, h = np.moveaxis(lch, -1, 0)
    return np.stack([L, C * np.cos(np.radians(h)), C * np.sin(np.radians(h))], axis=-1).astype(
        floating_dtype(lch)
    )


def _lms_to_lab(lms: NDArray[Any]) -> NDArray[Any]:
    return _product(np.cbrt(lms), LMS_TO_LAB)


def _product(values: NDArray[Any], matrix: NDArray[Any]) -> NDArray[Any]:
    return np.asarray(values @ matrix.T.astype(floating_dtype(values)))
