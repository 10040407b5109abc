"""RGB spaces as matrices, against the standards and colour-science."""

from __future__ import annotations

from types import ModuleType

import numpy as np
import pytest

from driftline.arrays import Matrix
from driftline.colorimetry import XYZ_to_xy, primaries, rgb_to_XYZ, xy_to_XYZ

SPACES = [
    ("sRGB", primaries.SRGB_TO_XYZ),
    ("ITU-R BT.2020", primaries.REC2020_TO_XYZ),
    ("Display P3", primaries.P3_TO_XYZ),
    ("Adobe RGB (1998)", primaries.ADOBE_RGB_1998_TO_XYZ),
]


def test_srgb_matrix_of_the_standard() -> None:
    """The sRGB matrix is that of IEC 61966-2-1 at its four printed decimals."""
    printed = [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
    np.testing.assert_allclose(primaries.SRGB_TO_XYZ, printed, atol=5.1e-5)


def test_inverse_srgb_matrix_of_the_standard() -> None:
    """Its inverse is that of IEC 61966-2-1, to 1e-4 (the standard inverts rounded numbers)."""
    printed = [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]
    np.testing.assert_allclose(np.linalg.inv(primaries.SRGB_TO_XYZ), printed, atol=4e-4)


@pytest.mark.parametrize(("name", "matrix"), SPACES)
def test_matrix_against_colour_science(colour: ModuleType, name: str, matrix: Matrix) -> None:
    """Each space's matrix equals the one colour-science derives from its primaries and white."""
    space = colour.RGB_COLOURSPACES[name].copy()
    space.use_derived_transformation_matrices(True)
    np.testing.assert_allclose(matrix, space.matrix_RGB_to_XYZ, atol=2e-5)


def test_whites() -> None:
    """D65 and D50 have the XYZ that CIE 15 chromaticities give."""
    np.testing.assert_allclose(xy_to_XYZ(primaries.D65_XY), [0.950456, 1, 1.089058], atol=5e-7)
    np.testing.assert_allclose(xy_to_XYZ(primaries.D50_XY), [0.964296, 1, 0.825105], atol=5e-7)


def test_white_of_each_space_is_d65() -> None:
    """Equal channels of every space make D65 with Y = 1."""
    for _, matrix in SPACES:
        np.testing.assert_allclose(matrix.sum(axis=1), xy_to_XYZ(primaries.D65_XY), atol=1e-12)


def test_chromaticity_round_trip() -> None:
    """xy to XYZ and back is the identity, at any luminance."""
    np.testing.assert_allclose(XYZ_to_xy(3.7 * xy_to_XYZ((0.21, 0.44))), [0.21, 0.44], atol=1e-14)


def test_primaries_keep_their_chromaticity() -> None:
    """Each primary of a derived matrix has the chromaticity it was given."""
    matrix = rgb_to_XYZ(primaries.P3_XY, primaries.D65_XY)
    for column, xy in zip(matrix.T, primaries.P3_XY, strict=True):
        np.testing.assert_allclose(XYZ_to_xy(column), xy, atol=1e-12)


def test_between_spaces() -> None:
    """sRGB to Rec. 2020 is ITU-R BT.2087-0's matrix at its four printed decimals, and white stays white."""
    # ITU-R BT.2087-0, 'Colour conversion from BT.709 to BT.2020', equation 2 (BT.709 has sRGB's primaries)
    printed = [[0.6274, 0.3293, 0.0433], [0.0691, 0.9195, 0.0114], [0.0164, 0.0880, 0.8956]]
    np.testing.assert_allclose(primaries.SRGB_TO_REC2020, printed, atol=5.1e-5)
    for matrix in (primaries.REC2020_TO_P3, primaries.REC2020_TO_SRGB, primaries.ADOBE_RGB_1998_TO_SRGB):
        np.testing.assert_allclose(matrix.sum(axis=1), 1, atol=1e-12)


def test_luminance_rows() -> None:
    """Luminance weights are those of ITU-R BT.2020 and IEC 61966-2-1 at four decimals."""
    np.testing.assert_allclose(primaries.REC2020_LUMINANCE, [0.2627, 0.6780, 0.0593], atol=5.1e-5)
    np.testing.assert_allclose(primaries.SRGB_LUMINANCE, [0.2126, 0.7152, 0.0722], atol=5.1e-5)
