"""CIELAB and CIEDE2000 against the published pairs and colour-science."""

from __future__ import annotations

from types import ModuleType

import numpy as np
import pytest

from driftline.colorimetry import XYZ_to_lab, ciede2000, srgb_to_lab, xy_to_XYZ
from driftline.colorimetry.primaries import D50_XY, D65_XY

# Sharma, Wu, Dalal, 'The CIEDE2000 color-difference formula: implementation notes, supplementary test data,
# and mathematical observations', Color Research & Application 30, 2005, table 1.
SHARMA = np.array(
    [
        (50, 2.6772, -79.7751, 50, 0, -82.7485, 2.0425),
        (50, 3.1571, -77.2803, 50, 0, -82.7485, 2.8615),
        (50, 2.8361, -74.0200, 50, 0, -82.7485, 3.4412),
        (50, -1.3802, -84.2814, 50, 0, -82.7485, 1.0000),
        (50, -1.1848, -84.8006, 50, 0, -82.7485, 1.0000),
        (50, -0.9009, -85.5211, 50, 0, -82.7485, 1.0000),
        (50, 0, 0, 50, -1, 2, 2.3669),
        (50, -1, 2, 50, 0, 0, 2.3669),
        (50, 2.4900, -0.0010, 50, -2.4900, 0.0009, 7.1792),
        (50, 2.4900, -0.0010, 50, -2.4900, 0.0010, 7.1792),
        (50, 2.4900, -0.0010, 50, -2.4900, 0.0011, 7.2195),
        (50, 2.4900, -0.0010, 50, -2.4900, 0.0012, 7.2195),
        (50, -0.0010, 2.4900, 50, 0.0009, -2.4900, 4.8045),
        (50, -0.0010, 2.4900, 50, 0.0010, -2.4900, 4.8045),
        (50, -0.0010, 2.4900, 50, 0.0011, -2.4900, 4.7461),
        (50, 2.5, 0, 50, 0, -2.5, 4.3065),
        (50, 2.5, 0, 73, 25, -18, 27.1492),
        (50, 2.5, 0, 61, -5, 29, 22.8977),
        (50, 2.5, 0, 56, -27, -3, 31.9030),
        (50, 2.5, 0, 58, 24, 15, 19.4535),
        (50, 2.5, 0, 50, 3.1736, 0.5854, 1.0000),
        (50, 2.5, 0, 50, 3.2972, 0, 1.0000),
        (50, 2.5, 0, 50, 1.8634, 0.5757, 1.0000),
        (50, 2.5, 0, 50, 3.2592, 0.3350, 1.0000),
        (60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644),
        (63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.2630),
        (61.2901, 3.7196, -5.3901, 61.4292, 2.2480, -4.9620, 1.8731),
        (35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645),
        (22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373),
        (36.4612, 47.8580, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146),
        (90.8027, -2.0831, 1.4410, 91.1528, -1.6435, 0.0447, 1.4441),
        (90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381),
        (6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377),
        (2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082),
    ]
)


@pytest.mark.parametrize("pair", range(34))
def test_sharma_pair(pair: int) -> None:
    """Each pair of Sharma, Wu and Dalal (2005) comes out at its four printed decimals, both ways round."""
    row = SHARMA[pair]
    assert ciede2000(row[:3], row[3:6]) == pytest.approx(row[6], abs=5.1e-5)
    assert ciede2000(row[3:6], row[:3]) == pytest.approx(row[6], abs=5.1e-5)


def test_all_pairs_at_once_with_any_leading_shape() -> None:
    """The difference of stacked colours is the stack of the differences."""
    pairs = SHARMA.reshape(2, 17, 7)
    together = ciede2000(pairs[..., :3], pairs[..., 3:6])
    assert together.shape == (2, 17)
    np.testing.assert_allclose(together, pairs[..., 6], atol=5.1e-5)


def test_against_colour_science(colour: ModuleType) -> None:
    """On random colours of a wide range CIEDE2000 equals colour-science to 1e-9."""
    lab = np.random.default_rng(2000).uniform([0, -90, -90], [100, 90, 90], (2, 4000, 3))
    np.testing.assert_allclose(ciede2000(lab[0], lab[1]), colour.delta_E(lab[0], lab[1]), atol=1e-9)


def test_lightness_factor_halves_a_lightness_difference() -> None:
    """k_L = 2 halves the difference of two greys (CIE 142-2001, parametric factors)."""
    light, dark = np.array([60.0, 0, 0]), np.array([55.0, 0, 0])
    assert ciede2000(light, dark, k_lightness=2.0) == pytest.approx(ciede2000(light, dark) / 2)


def test_equal_colours_differ_by_nothing() -> None:
    """A colour differs from itself by exactly zero."""
    lab = np.random.default_rng(7).uniform([0, -90, -90], [100, 90, 90], (100, 3))
    assert not ciede2000(lab, lab).any()


def test_lab_of_18_percent_grey() -> None:
    """18 % grey has L* 49.50, a* = b* = 0 (CIE 15; the value is computed from its formula)."""
    white = xy_to_XYZ(D65_XY)
    np.testing.assert_allclose(XYZ_to_lab(0.18 * white, white), [49.4961, 0, 0], atol=1e-4)


@pytest.mark.parametrize("white_xy", [D65_XY, D50_XY])
def test_lab_against_colour_science(colour: ModuleType, white_xy: tuple[float, float]) -> None:
    """CIELAB, its dark linear part included, equals colour-science to 1e-9."""
    XYZ = np.random.default_rng(15).uniform(0, 1, (500, 3)) ** 4
    np.testing.assert_allclose(
        XYZ_to_lab(XYZ, xy_to_XYZ(white_xy)), colour.XYZ_to_Lab(XYZ, np.array(white_xy)), atol=1e-9
    )


def test_lab_of_srgb_white() -> None:
    """sRGB white is L* 100 without a cast."""
    np.testing.assert_allclose(
        srgb_to_lab(np.ones((2, 2, 3), np.float32)), [[[100, 0, 0]] * 2] * 2, atol=1e-6
    )
