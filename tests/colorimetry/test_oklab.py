"""Oklab against the published rows and colour-science."""

from __future__ import annotations

from collections.abc import Callable
from types import ModuleType

import numpy as np
import pytest
from numpy.typing import NDArray

from driftline.colorimetry import (
    XYZ_to_oklab,
    oklab_to_oklch,
    oklab_to_rec2020,
    oklab_to_srgb,
    oklch_to_oklab,
    rec2020_to_oklab,
    srgb_to_oklab,
)
from driftline.colorimetry.oklab import LMS_TO_LAB, LMS_TO_SRGB, SRGB_TO_LMS, XYZ_TO_LMS
from driftline.colorimetry.primaries import SRGB_TO_REC2020

Function = Callable[[NDArray[np.floating]], NDArray[np.floating]]
EVERY = pytest.mark.parametrize(
    "function",
    [
        XYZ_to_oklab,
        rec2020_to_oklab,
        oklab_to_rec2020,
        srgb_to_oklab,
        oklab_to_srgb,
        oklab_to_oklch,
        oklch_to_oklab,
    ],
)

# Ottosson, 'A perceptual color space for image processing', 2020, table of XYZ and Oklab pairs: the three
# decimals from memory of the page, and each recomputed from the published matrices.
OTTOSSON = [
    ((0.950, 1.000, 1.089), (1.000, 0.000, 0.000)),
    ((1, 0, 0), (0.450, 1.236, -0.019)),
    ((0, 1, 0), (0.922, -0.671, 0.263)),
    ((0, 0, 1), (0.153, -1.415, -0.449)),
]
# Rows of colour-science's own test of Oklab (colour/models/tests/test_oklab.py).
COLOUR_ROWS = [
    ((0.20654008, 0.12197225, 0.05136952), (0.51634019, 0.15469500, 0.06289579)),
    ((0.14222010, 0.23042768, 0.10495772), (0.59910746, -0.11139207, 0.07508465)),
]
# sRGB primaries in Oklab, with chroma and hue: computed with colour-science 0.4.7 from the definition.
PRIMARIES = [
    ((1, 1, 1), (1.0, 0.0, 0.0), None),
    ((1, 0, 0), (0.62796, 0.22486, 0.12585), (0.25768, 29.234)),
    ((0, 1, 0), (0.86644, -0.23389, 0.17950), (0.29483, 142.495)),
    ((0, 0, 1), (0.45201, -0.03246, -0.31153), (0.31321, 264.052)),
    ((1, 1, 0), (0.96798, -0.07137, 0.19857), (0.21101, 109.769)),
    ((0, 1, 1), (0.90540, -0.14944, -0.03940), (0.15455, 194.769)),
    ((1, 0, 1), (0.70167, 0.27457, -0.16916), (0.32249, 328.363)),
]


@pytest.mark.parametrize(("XYZ", "lab"), OTTOSSON)
def test_published_rows(XYZ: tuple[float, ...], lab: tuple[float, ...]) -> None:
    """Ottosson's four XYZ rows come out at their three printed decimals."""
    np.testing.assert_allclose(XYZ_to_oklab(np.array(XYZ)), lab, atol=5.1e-4)


@pytest.mark.parametrize(("XYZ", "lab"), COLOUR_ROWS)
def test_rows_of_colour_science(XYZ: tuple[float, ...], lab: tuple[float, ...]) -> None:
    """Two rows of colour-science's own test come out to 1e-7."""
    np.testing.assert_allclose(XYZ_to_oklab(np.array(XYZ)), lab, atol=1e-7)


def test_published_way_against_colour_science(colour: ModuleType) -> None:
    """XYZ to Oklab equals colour-science to 1e-7 on random colours."""
    XYZ = np.random.default_rng(3).uniform(0, 1, (1000, 3))
    np.testing.assert_allclose(XYZ_to_oklab(XYZ), colour.XYZ_to_Oklab(XYZ), atol=1e-7)


@pytest.mark.parametrize(("rgb", "lab", "polar"), PRIMARIES)
def test_srgb_primaries(
    rgb: tuple[int, ...], lab: tuple[float, ...], polar: tuple[float, float] | None
) -> None:
    """The sRGB primaries have the published Oklab coordinates, chroma and hue."""
    found = srgb_to_oklab(np.array(rgb, np.float64))
    np.testing.assert_allclose(found, lab, atol=3e-5)
    if polar is not None:
        chroma, hue = oklab_to_oklch(found)[1:]
        assert chroma == pytest.approx(polar[0], abs=3e-5)
        assert hue == pytest.approx(polar[1], abs=0.01)


def test_matrix_of_linear_srgb() -> None:
    """Linear sRGB to LMS is Ottosson's own matrix to 1e-4, and its inverse too (his numbers are rounded)."""
    # from memory: Ottosson 2020, sample linear_srgb_to_oklab; the inverse is quoted by many repositories
    published = [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
    inverse = [
        [4.0767416621, -3.3077115913, 0.2309699292],
        [-1.2684380046, 2.6097574011, -0.3413193965],
        [-0.0041960863, -0.7034186147, 1.7076147010],
    ]
    np.testing.assert_allclose(SRGB_TO_LMS, published, atol=1e-4)
    np.testing.assert_allclose(LMS_TO_SRGB, inverse, atol=1.5e-3)


def test_published_matrices() -> None:
    """M1 and M2 are Ottosson's (as in colour/models/oklab.py), not the variant of CSS Color 4."""
    assert XYZ_TO_LMS[0].tolist() == [0.8189330101, 0.3618667424, -0.1288597137]
    assert LMS_TO_LAB[2].tolist() == [0.0259040371, 0.7827717662, -0.8086757660]


@pytest.mark.parametrize(("linear", "lightness"), [(0.18, 0.564622), (0.214041, 0.598181), (1.0, 1.0)])
def test_greys(linear: float, lightness: float) -> None:
    """A grey's lightness is the cube root of its linear light (18 % is 0.5646, code 0.5 is 0.5982)."""
    lab = rec2020_to_oklab(np.full(3, linear))
    np.testing.assert_allclose(lab, [lightness, 0, 0], atol=1e-6)


def test_both_rgb_doors_agree() -> None:
    """One colour has one Oklab, through sRGB and through Rec. 2020."""
    srgb = np.random.default_rng(4).uniform(0, 1, (200, 3))
    np.testing.assert_allclose(rec2020_to_oklab(srgb @ SRGB_TO_REC2020.T), srgb_to_oklab(srgb), atol=1e-12)


@pytest.mark.parametrize(
    ("there", "back"),
    [(rec2020_to_oklab, oklab_to_rec2020), (srgb_to_oklab, oklab_to_srgb), (oklab_to_oklch, oklch_to_oklab)],
)
def test_round_trips(there: Function, back: Function) -> None:
    """There and back is the identity, negatives included, to 1e-10 (float64) and 2e-5 (float32)."""
    values = np.random.default_rng(5).uniform(-0.1, 1.2, (500, 3))
    np.testing.assert_allclose(back(there(values)), values, atol=1e-10)
    np.testing.assert_allclose(back(there(values.astype(np.float32))), values, atol=2e-5)


def test_hue_is_an_angle_from_0_to_360() -> None:
    """Hues are degrees in 0 … 360, measured from a to b."""
    lab = np.array([[0.5, 0.1, 0.0], [0.5, 0.0, 0.1], [0.5, -0.1, 0.0], [0.5, 0.0, -0.1]])
    assert oklab_to_oklch(lab)[:, 2].tolist() == [0.0, 90.0, 180.0, 270.0]


@EVERY
@pytest.mark.parametrize("dtype", [np.float32, np.float64])
def test_dtype_shape_and_input_are_kept(function: Function, dtype: type[np.floating]) -> None:
    """The dtype and any leading shape come back as they went in, and the input is not written to."""
    values = np.random.default_rng(6).uniform(-0.2, 1.2, (2, 4, 5, 3)).astype(dtype)
    values.flags.writeable = False
    out = function(values)
    assert out.dtype == dtype
    assert out.shape == values.shape
    np.testing.assert_allclose(out[1, 2], function(values[1, 2]), rtol=1e-4, atol=1e-4)


@EVERY
def test_whole_numbers_become_float64(function: Function) -> None:
    """Integers are taken as numbers, not truncated."""
    whole, real = function(np.array([1, 0, 0])), function(np.array([1.0, 0.0, 0.0]))
    assert whole.dtype == np.float64
    np.testing.assert_array_equal(whole, real)
