"""The sRGB encoding against IEC 61966-2-1."""

from __future__ import annotations

from collections.abc import Callable
from types import ModuleType

import numpy as np
import pytest
from numpy.typing import NDArray

from driftline.colorimetry import srgb_decode, srgb_encode

# IEC 61966-2-1, encoded by its formula: linear light, code value in 0 … 1.
ENCODED = [
    (0.0031308, 0.0404499),
    (0.01, 0.0998528),
    (0.05, 0.2478005),
    (0.10, 0.3491902),
    (0.18, 0.4613561),
    (0.20, 0.4845292),
    (0.214041, 0.5000),
    (0.50, 0.7353570),
    (0.90, 0.9546872),
]
# IEC 61966-2-1, decoded by its formula: 8-bit code, linear light.
DECODED = [
    (1, 0.000303527),
    (10, 0.00303527),
    (11, 0.00334654),
    (64, 0.0512695),
    (118, 0.181164),
    (128, 0.215861),
    (186, 0.491021),
    (188, 0.502886),
    (254, 0.991102),
]
BOTH = pytest.mark.parametrize("function", [srgb_encode, srgb_decode])
Function = Callable[[NDArray[np.floating]], NDArray[np.floating]]


@pytest.mark.parametrize(("linear", "code"), ENCODED)
def test_encode(linear: float, code: float) -> None:
    """Linear light is encoded as IEC 61966-2-1 says, to 1e-6."""
    assert srgb_encode(np.array(linear)) == pytest.approx(code, abs=1e-6)


@pytest.mark.parametrize(("code", "linear"), DECODED)
def test_decode(code: int, linear: float) -> None:
    """8-bit codes are decoded as IEC 61966-2-1 says, to the printed digits."""
    assert srgb_decode(np.array(code / 255)) == pytest.approx(linear, rel=4e-6)


def test_against_colour_science(colour: ModuleType) -> None:
    """Both directions equal colour-science's sRGB functions to 1e-12 over 0 … 1."""
    values = np.linspace(0, 1, 4001)
    np.testing.assert_allclose(srgb_encode(values), colour.models.eotf_inverse_sRGB(values), atol=1e-12)
    np.testing.assert_allclose(srgb_decode(values), colour.models.eotf_sRGB(values), atol=1e-12)


def test_round_trip_of_every_code() -> None:
    """Each 16-bit code survives decoding and encoding in float32."""
    codes = np.arange(65536, dtype=np.float32) / np.float32(65535)
    back = np.rint(srgb_encode(srgb_decode(codes)) * 65535)
    np.testing.assert_array_equal(back, np.arange(65536))


@BOTH
def test_endpoints_and_odd_symmetry(function: Function) -> None:
    """0 and 1 stay, negatives mirror positives, and the curve rises without a fold."""
    values = np.linspace(0, 1.5, 3001)
    assert function(np.array([0.0, 1.0])).tolist() == [0.0, 1.0]
    np.testing.assert_array_equal(function(-values), -function(values))
    assert (np.diff(function(values)) > 0).all()


@BOTH
@pytest.mark.parametrize("dtype", [np.float32, np.float64])
def test_dtype_shape_and_input_are_kept(function: Function, dtype: type[np.floating]) -> None:
    """The dtype and shape come back as they went in, and the input is not written to."""
    values = np.random.default_rng(1).uniform(-0.2, 1.2, (2, 3, 5, 3)).astype(dtype)
    values.flags.writeable = False
    out = function(values)
    assert out.dtype == dtype
    assert out.shape == values.shape
    np.testing.assert_array_equal(out[1, 2], function(values[1, 2]))


@BOTH
def test_whole_numbers_become_float64(function: Function) -> None:
    """Integers are taken as numbers, not truncated."""
    out = function(np.array([0, 1]))
    assert out.dtype == np.float64
    assert out.tolist() == [0.0, 1.0]


@BOTH
def test_infinite_and_missing_values_stay_what_they_are(function: Function) -> None:
    """Infinity stays infinite and NaN stays NaN, without a warning."""
    out = function(np.array([np.inf, -np.inf, np.nan], np.float32))
    assert out[0] == np.inf
    assert out[1] == -np.inf
    assert np.isnan(out[2])
