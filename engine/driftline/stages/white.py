"""White: camera RGB to linear Rec. 2020, and the shift away from the as-shot white (step 4)."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from driftline.arrays import CameraRGB, Matrix, SceneRGB
from driftline.colorimetry.adaptation import BRADFORD
from driftline.colorimetry.primaries import REC2020_TO_XYZ, SRGB_TO_REC2020, XYZ_to_xy, xy_to_XYZ
from driftline.colorimetry.temperature import cct_duv_to_xy, mired, shifted_white_xy, xy_to_cct_duv


def white(rgb: CameraRGB, *, matrix: Matrix) -> SceneRGB:
    """Apply one 3 x 3 matrix from balanced camera RGB to linear Rec. 2020.

    Parameters
    ----------
    rgb
        (..., 3) balanced camera RGB.
    matrix
        (3, 3) from :func:`white_matrix`.

    Returns
    -------
    SceneRGB
        (..., 3) float32.
    """
    return np.asarray(rgb @ matrix.T.astype(np.float32))


def white_matrix(
    camera_to_srgb: Matrix,
    *,
    light: tuple[float, float],
    shift_mired: float = 0.0,
    kelvin: float | None = None,
    shift_duv: float = 0.0,
) -> Matrix:
    """The matrix from balanced camera RGB to linear Rec. 2020 (D65), with the recipe's white in it.

    Parameters
    ----------
    camera_to_srgb
        (3, 3) balanced camera RGB to linear sRGB, rows summing to 1.
    light
        CCT in kelvin and Duv of the light that the balance makes neutral.
    shift_mired
        Against as-shot; + is warmer. The change is that of a conversion filter before the lens: with -131
        a 3200 K light becomes a 5500 K light (handbook filter 80A).
    kelvin
        The light the picture is balanced for instead of the as-shot one; a higher figure is warmer. The
        as-shot Duv is kept, and ``shift_mired`` comes on top.
    shift_duv
        + is greener.

    Returns
    -------
    Matrix
        (3, 3) float64. Equal channels keep their luminance whatever the shift.

    Notes
    -----
    Von Kries adaptation in the Bradford cone space (Lam 1985).
    """
    cct, duv = light
    if kelvin is not None:
        shift_mired += mired(cct) - mired(kelvin)
    if not shift_mired and not shift_duv:
        return np.asarray(SRGB_TO_REC2020 @ camera_to_srgb)
    before = xy_to_XYZ(cct_duv_to_xy(cct, duv))
    after = xy_to_XYZ(shifted_white_xy(cct, duv, shift_mired=shift_mired, shift_duv=shift_duv))
    gain = (BRADFORD @ after) / (BRADFORD @ before)
    adapt = np.linalg.solve(BRADFORD, gain[:, None] * BRADFORD)
    shifted = np.linalg.solve(REC2020_TO_XYZ, adapt @ REC2020_TO_XYZ)
    neutral_luminance = REC2020_TO_XYZ[1] @ shifted.sum(axis=1)
    return np.asarray(shifted @ SRGB_TO_REC2020 @ camera_to_srgb / neutral_luminance)


def light_of(multipliers: ArrayLike, xyz_to_camera: Matrix | None) -> tuple[float, float]:
    """CCT and Duv of the light that given multipliers make neutral.

    Parameters
    ----------
    multipliers
        (3,) as-shot balance.
    xyz_to_camera
        (3, 3) XYZ to unbalanced camera RGB; None gives D65.
    """
    if xyz_to_camera is None:
        return 6504.0, 0.0032
    XYZ = np.linalg.solve(xyz_to_camera, 1 / np.asarray(multipliers, np.float64))
    if XYZ.min() <= 0:
        return 6504.0, 0.0032
    return xy_to_cct_duv(XYZ_to_xy(XYZ))
