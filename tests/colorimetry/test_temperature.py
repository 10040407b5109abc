"""Colour temperature against CIE, Ohno 2014, handbooks and colour-science."""

from __future__ import annotations

from types import ModuleType

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from driftline.colorimetry import (
    cct_duv_to_xy,
    daylight_xy,
    mired,
    planckian_xy,
    shifted_white_xy,
    xy_to_cct_duv,
)

# CIE 15 chromaticities; CCT and Duv by Ohno 2014 as colour-science 0.4.7 implements it.
ILLUMINANTS = [
    ("A", (0.44758, 0.40745), 2855.49, 0.000003),
    ("D50", (0.3457, 0.3585), 5000.70, 0.003193),
    ("D55", (0.33243, 0.34744), 5502.37, 0.003255),
    ("D65", (0.3127, 0.3290), 6504.31, 0.003207),
    ("D75", (0.29903, 0.31488), 7505.04, 0.003139),
    ("E", (1 / 3, 1 / 3), 5455.46, -0.004424),
    ("C", (0.31006, 0.31616), 6774.13, -0.002152),
]
# Rows of colour-science's own test of Ohno 2014 (colour/temperature/tests/test_ohno2013.py): u, v, K, Duv.
OHNO = [
    (0.1978, 0.3122, 6507.4748, 0.0032233),
    (0.4328, 0.2883, 1041.678, -0.067378),
    (0.2927, 0.2722, 2444.97, -0.084371),
]
# Planck's law with c2 = 1.4388e-2 m K, CIE 1931 observer; computed with colour-science 0.4.7.
PLANCK = [
    (2000, 0.526677, 0.413299),
    (2500, 0.476996, 0.413677),
    (2856, 0.447537, 0.407430),
    (3200, 0.423361, 0.398954),
    (3400, 0.411036, 0.393506),
    (4000, 0.380441, 0.376749),
    (5000, 0.345103, 0.351610),
    (5500, 0.332436, 0.341037),
    (6500, 0.313527, 0.323630),
    (7500, 0.300335, 0.310268),
    (10000, 0.280634, 0.288289),
]
# CIE 15 daylight locus; computed with colour-science 0.4.7.
DAYLIGHT = [
    (4000, 0.382344, 0.383766),
    (5000, 0.345741, 0.358666),
    (5500, 0.332502, 0.347608),
    (6500, 0.312779, 0.329184),
    (7500, 0.299091, 0.315025),
    (10000, 0.278800, 0.291967),
]
# Conversion filters of the trade: mired shift as printed in a light meter's manual (Sekonic C-800, appendix
# 9-2, Wratten 2 filters), and the conversion that the trade uses each for (common practice).
CONVERSIONS = [
    ("80A", -131, 3200, 5500),
    ("85B", 131, 5500, 3200),
    ("80B", -112, 3400, 5500),
    ("85", 112, 5500, 3400),
]


@pytest.mark.parametrize(("name", "xy", "kelvin", "duv"), ILLUMINANTS)
def test_illuminants(name: str, xy: tuple[float, float], kelvin: float, duv: float) -> None:
    """Each CIE illuminant has its CCT within 0.1 K and its Duv within 1.5e-6 (observer at 5 nm, not 1 nm)."""
    found = xy_to_cct_duv(xy)
    assert found[0] == pytest.approx(kelvin, abs=0.1), name
    assert found[1] == pytest.approx(duv, abs=1.5e-6), name


@pytest.mark.parametrize(("u", "v", "kelvin", "duv"), OHNO)
def test_ohno_rows(u: float, v: float, kelvin: float, duv: float) -> None:
    """Ohno's test rows, two of them far from the locus, agree to 2 in 10 000 and 1.5e-6 (sampling again)."""
    found = xy_to_cct_duv(np.array([3 * u, 2 * v]) / (2 * u - 8 * v + 4))
    assert found[0] == pytest.approx(kelvin, rel=2e-4)
    assert found[1] == pytest.approx(duv, abs=1.5e-6)


@pytest.mark.parametrize(("kelvin", "x", "y"), PLANCK)
def test_planckian_locus(kelvin: float, x: float, y: float) -> None:
    """The full radiator has its tabled chromaticity to 5e-6 (observer at 5 nm, not 1 nm)."""
    np.testing.assert_allclose(planckian_xy(kelvin), [x, y], atol=5e-6)


def test_planckian_locus_against_colour_science(colour: ModuleType) -> None:
    """From 1500 to 25 000 K the locus equals colour-science's Planck spectra under its observer to 1e-5."""
    observer = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"].values
    wavelength = np.arange(360, 831) * 1e-9
    for kelvin in (1500, 2856, 5200, 6504, 12000, 25000):
        XYZ = colour.colorimetry.planck_law(wavelength, kelvin) @ observer
        np.testing.assert_allclose(planckian_xy(kelvin), XYZ[:2] / XYZ.sum(), atol=1e-5)


@pytest.mark.parametrize(("kelvin", "x", "y"), DAYLIGHT)
def test_daylight_locus(kelvin: float, x: float, y: float) -> None:
    """CIE daylight has its tabled chromaticity to 1e-6."""
    np.testing.assert_allclose(daylight_xy(kelvin), [x, y], atol=1e-6)


def test_daylight_locus_against_colour_science(colour: ModuleType) -> None:
    """Over 4000 … 25 000 K the daylight locus equals colour-science's."""
    for kelvin in (4000, 6999, 7000, 7001, 25000):
        oracle = colour.temperature.CCT_to_xy_CIE_D(float(kelvin))
        np.testing.assert_allclose(daylight_xy(kelvin), oracle, atol=1e-12)


def test_d65_is_the_daylight_of_6504_kelvin() -> None:
    """D65 is nominal 6500 K x 1.4388 / 1.4380, at x = 0.31272, y = 0.32913 (CIE 15)."""
    np.testing.assert_allclose(daylight_xy(6500 * 1.4388 / 1.4380), [0.312720, 0.329125], atol=2e-6)


@pytest.mark.parametrize(
    ("duv", "x", "y"), [(0.0, 0.345103, 0.351610), (0.01, 0.347090, 0.373833), (-0.01, 0.343263, 0.331042)]
)
def test_duv_at_5000_kelvin(duv: float, x: float, y: float) -> None:
    """At 5000 K a positive Duv lies above the locus, on the green side (rows by colour-science)."""
    np.testing.assert_allclose(cct_duv_to_xy(5000.0, duv), [x, y], atol=2e-5)


def test_against_ohno_of_colour_science(colour: ModuleType) -> None:
    """Within 0.02 of the locus CCT agrees with colour-science's Ohno 2014 to 0.05 % and Duv to 2e-5."""
    random = np.random.default_rng(9)
    for m, duv in zip(random.uniform(60, 500, 25), random.uniform(-0.02, 0.02, 25), strict=True):
        xy = cct_duv_to_xy(1e6 / m, duv)
        kelvin, oracle_duv = colour.temperature.uv_to_CCT_Ohno2013(colour.xy_to_UCS_uv(xy))
        found = xy_to_cct_duv(xy)
        assert found[0] == pytest.approx(kelvin, rel=5e-4)
        assert found[1] == pytest.approx(oracle_duv, abs=2e-5)


@given(m=st.floats(10.0, 999.0), duv=st.floats(-0.05, 0.05))
def test_round_trip(m: float, duv: float) -> None:
    """From 1001 to 100 000 K and Duv within ±0.05, there and back is the identity."""
    kelvin, found = xy_to_cct_duv(cct_duv_to_xy(1e6 / m, duv))
    assert mired(kelvin) == pytest.approx(m, abs=1e-6)
    assert found == pytest.approx(duv, abs=1e-9)


@given(x=st.floats(0.15, 0.6), y=st.floats(0.2, 0.6))
def test_no_point_of_the_locus_is_nearer(x: float, y: float) -> None:
    """The answer is the nearest point of the locus in CIE 1960 (u, v), wherever the chromaticity stands."""
    kelvin, _ = xy_to_cct_duv((x, y))

    def distance(temperature: float) -> float:
        px, py = planckian_xy(temperature)
        du = 4 * x / (-2 * x + 12 * y + 3) - 4 * px / (-2 * px + 12 * py + 3)
        dv = 6 * y / (-2 * x + 12 * y + 3) - 6 * py / (-2 * px + 12 * py + 3)
        return float(np.hypot(du, dv))

    assert distance(kelvin) <= min(distance(1e6 / m) for m in range(1, 1001, 7)) + 1e-12


def test_answers_are_plain_floats() -> None:
    """CCT and Duv are Python floats, so they print and serialise as numbers."""
    assert [type(value) for value in xy_to_cct_duv((0.3127, 0.3290))] == [float, float]


@pytest.mark.parametrize(("xy", "kelvin"), [((0.72, 0.27), 1000.0), ((0.15, 0.10), 1e6)])
def test_beyond_both_ends_the_end_is_given(xy: tuple[float, float], kelvin: float) -> None:
    """A light redder or bluer than the locus reaches is held at its end."""
    assert xy_to_cct_duv(xy)[0] == pytest.approx(kelvin)


@pytest.mark.parametrize(("above", "below", "shift"), [(4000, 3000, 83), (7000, 6000, 24)])
def test_mired_steps(above: float, below: float, shift: int) -> None:
    """1000 K are 83 mired at 4000 K and 24 at 7000 K (manuals of two Nikon cameras, D300 and D6)."""
    assert round(mired(below) - mired(above)) == shift


@pytest.mark.parametrize(("name", "shift", "before", "after"), CONVERSIONS)
def test_conversion_filters(name: str, shift: float, before: float, after: float) -> None:
    """A conversion filter turns the light it is for into the one it is meant to give, to 0.8 mired."""
    kelvin, duv = xy_to_cct_duv(shifted_white_xy(before, 0.0, shift_mired=shift))
    assert mired(kelvin) == pytest.approx(mired(after), abs=0.8), name
    assert duv == pytest.approx(0.0, abs=1e-9)


def test_shift_of_duv_goes_towards_green() -> None:
    """A positive Duv shift raises y, keeps the temperature and adds to the Duv there was."""
    plain = shifted_white_xy(5000.0, 0.001, shift_mired=0.0)
    greener = shifted_white_xy(5000.0, 0.001, shift_mired=0.0, shift_duv=0.004)
    kelvin, duv = xy_to_cct_duv(greener)
    assert greener[1] > plain[1]
    assert kelvin == pytest.approx(5000.0, abs=1e-3)
    assert duv == pytest.approx(0.005, abs=1e-9)


def test_shifts_are_held_within_the_range() -> None:
    """A shift past either end stops at 1000 K or 100 000 K."""
    assert xy_to_cct_duv(shifted_white_xy(2000.0, 0.0, shift_mired=2000.0))[0] == pytest.approx(1000.0)
    assert xy_to_cct_duv(shifted_white_xy(9000.0, 0.0, shift_mired=-2000.0))[0] == pytest.approx(100000.0)
