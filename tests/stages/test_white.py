"""White and its shift."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.colorimetry.primaries import REC2020_TO_XYZ, XYZ_to_xy, xy_to_XYZ
from driftline.colorimetry.temperature import cct_duv_to_xy, planckian_xy, xy_to_cct_duv
from driftline.stages.white import light_of, white, white_matrix

D65 = (6504.3, 0.0032)


def picture_white(matrix: np.ndarray) -> tuple[float, float]:
    """CCT and Duv that a neutral is shown with."""
    return xy_to_cct_duv(XYZ_to_xy(REC2020_TO_XYZ @ matrix.sum(axis=1)))


def light_after_filter(kelvin: float, shift: float) -> float:
    """CCT that the light itself gets: undo the adaptation of the display's white to the light."""
    from driftline.colorimetry.adaptation import adaptation_matrix
    from driftline.colorimetry.primaries import D65_XY

    matrix = white_matrix(np.eye(3), light=(kelvin, 0.0), shift_mired=shift)
    shown = REC2020_TO_XYZ @ matrix.sum(axis=1)
    back = adaptation_matrix(xy_to_XYZ(D65_XY), xy_to_XYZ(planckian_xy(kelvin)))
    return xy_to_cct_duv(XYZ_to_xy(back @ shown))[0]


@pytest.mark.parametrize(
    ("before", "shift", "after"),
    [(3200, -131, 5500), (5500, 131, 3200), (3400, -112, 5500), (5500, 112, 3400)],
)
def test_mired_shifts_of_conversion_filters(before: float, shift: float, after: float) -> None:
    """Filters 80A, 85B, 80B and 85 (Sekonic C-800 manual, appendix 9-2): to 1 % of the temperature."""
    assert light_after_filter(before, shift) == pytest.approx(after, rel=0.01)


def test_no_shift_keeps_neutrals_neutral() -> None:
    """Equal camera channels stay equal."""
    camera_to_srgb = np.array([[1.6, -0.4, -0.2], [-0.2, 1.5, -0.3], [0.0, -0.5, 1.5]])
    out = white(np.float32([[0.3, 0.3, 0.3]]), matrix=white_matrix(camera_to_srgb, light=D65))
    assert out == pytest.approx(np.full((1, 3), 0.3), abs=1e-6)


def test_plus_is_warmer_and_greener() -> None:
    """+ mired lowers the colour temperature by as many mired under D65, + duv raises Duv."""
    cct, duv = picture_white(white_matrix(np.eye(3), light=D65, shift_mired=20, shift_duv=0.004))
    assert 1e6 / cct - 1e6 / 6504.3 == pytest.approx(20, abs=0.3)
    assert duv - 0.0032 == pytest.approx(0.004, abs=2e-4)


def test_kelvin_is_the_light_the_picture_is_balanced_for() -> None:
    """Balanced for 5500 K under 4000 K light equals a shift of 68.2 mired, and looks warm."""
    by_kelvin = white_matrix(np.eye(3), light=(4000, 0.001), kelvin=5500)
    by_shift = white_matrix(np.eye(3), light=(4000, 0.001), shift_mired=1e6 / 4000 - 1e6 / 5500)
    assert by_kelvin == pytest.approx(by_shift)
    assert picture_white(by_kelvin)[0] < 6000


@pytest.mark.parametrize("shift", [-100.0, -20.0, 20.0, 100.0])
def test_a_neutral_keeps_its_luminance(shift: float) -> None:
    """A warmer picture is not a brighter one."""
    matrix = white_matrix(np.eye(3), light=(4500, 0.0), shift_mired=shift)
    assert REC2020_TO_XYZ[1] @ matrix.sum(axis=1) == pytest.approx(1.0, abs=1e-12)


def test_the_light_is_found_from_the_balance() -> None:
    """Multipliers made from a known light through a known camera give that light back."""
    xyz_to_camera = np.array([[0.99, -0.277, -0.132], [-0.707, 1.423, 0.314], [-0.279, 0.334, 0.886]])
    response = xyz_to_camera @ xy_to_XYZ(cct_duv_to_xy(4300, 0.004))
    cct, duv = light_of(response[1] / response, xyz_to_camera)
    assert cct == pytest.approx(4300, rel=1e-3)
    assert duv == pytest.approx(0.004, abs=1e-5)
