"""Camera matrices from LibRaw's two sources."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.colorimetry.primaries import D65_XY, SRGB_TO_XYZ, xy_to_XYZ
from driftline.frames.matrices import camera_colour, from_balanced_matrix, from_xyz_matrix

XYZ_TO_CAMERA = np.array([[0.90, -0.30, -0.07], [-0.45, 1.24, 0.23], [-0.09, 0.19, 0.60]])


def facts(*, table: object = None, own: object = None, daylight: object = (2.0, 1.0, 1.5, 0.0)) -> dict:
    """The decoder's facts about colour; zeros for a matrix that LibRaw does not have."""
    rgb_xyz = np.zeros((4, 3))
    if table is not None:
        rgb_xyz[:3] = table
    color = np.zeros((3, 4))
    if own is not None:
        color[:, :3] = own
    return {"rgb_xyz_matrix": rgb_xyz, "color_matrix": color, "daylight_whitebalance": daylight}


def test_white_stays_white() -> None:
    """Equal balanced channels are neutral: the rows of camera → sRGB sum to 1."""
    colour = from_xyz_matrix(XYZ_TO_CAMERA)
    assert colour.camera_to_srgb.sum(axis=1) == pytest.approx(np.ones(3), abs=1e-12)


def test_daylight_balances_d65() -> None:
    """The camera's response to D65, times the daylight multipliers, is equal in all channels."""
    colour = from_xyz_matrix(XYZ_TO_CAMERA)
    balanced = XYZ_TO_CAMERA @ xy_to_XYZ(D65_XY) * colour.daylight
    assert balanced == pytest.approx(np.full(3, balanced[1]))
    assert colour.daylight[1] == 1


def test_camera_sees_srgb_primaries() -> None:
    """The matrix takes the camera's balanced response to an sRGB colour back to that colour."""
    colour = from_xyz_matrix(XYZ_TO_CAMERA)
    srgb = np.array([0.2, 0.5, 0.1])
    raw = XYZ_TO_CAMERA @ SRGB_TO_XYZ @ srgb
    scale = 1 / (XYZ_TO_CAMERA @ SRGB_TO_XYZ @ np.ones(3))[1]
    assert colour.camera_to_srgb @ (raw * colour.daylight * scale) == pytest.approx(srgb)


def test_the_two_ways_agree() -> None:
    """A camera given either way has the same three results."""
    one = from_xyz_matrix(XYZ_TO_CAMERA)
    other = from_balanced_matrix(one.camera_to_srgb, one.daylight)
    assert other.camera_to_srgb == pytest.approx(one.camera_to_srgb)
    assert other.xyz_to_camera == pytest.approx(one.xyz_to_camera)


def test_the_files_matrix_goes_before_the_table() -> None:
    """Where a file brings a matrix of its own, LibRaw's own output uses that, and so do we.

    Measured with rawpy 0.28 on a DNG that names a camera of LibRaw's table but brings another ColorMatrix1.
    """
    own = from_xyz_matrix(XYZ_TO_CAMERA @ np.diag([1.1, 1.0, 0.9]))
    colour = camera_colour(facts(table=XYZ_TO_CAMERA, own=own.camera_to_srgb, daylight=[*own.daylight, 0.0]))
    assert colour.camera_to_srgb == pytest.approx(own.camera_to_srgb)


def test_the_table_where_the_file_has_none() -> None:
    """A known camera's matrix is LibRaw's, computed in float64 here."""
    colour = camera_colour(facts(table=XYZ_TO_CAMERA))
    assert colour.camera_to_srgb == pytest.approx(from_xyz_matrix(XYZ_TO_CAMERA).camera_to_srgb)
    assert colour.doubt == ""


@pytest.mark.parametrize("daylight", [(2.0, 1.0, 1.5, 0.0), (0.0, 0.0, 0.0, 0.0)])
def test_no_matrix_is_said(daylight: tuple[float, ...]) -> None:
    """Without any matrix the camera's colours are passed through, and that is said."""
    colour = camera_colour(facts(daylight=daylight))
    assert np.array_equal(colour.camera_to_srgb, np.eye(3))
    assert colour.xyz_to_camera is None
    assert "knows a colour matrix" in colour.doubt
