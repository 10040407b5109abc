"""The invented camera against published colour data and the arithmetic of noise."""

from __future__ import annotations

import numpy as np
import pytest
from making import camera, spectra

BODIES = pytest.mark.parametrize("body", list(camera.BODIES.values()), ids=list(camera.BODIES))


@BODIES
def test_daylight_of_one_candela_gives_green_one(body: camera.Body) -> None:
    """The scale of planes: D65 of 1 cd/m² is green 1."""
    seen = camera.response(body, spectra.of_luminance(spectra.daylight(6504), 1.0))
    assert seen[1] == pytest.approx(1.0)


LIGHTS = pytest.mark.parametrize("source", [camera.DAYLIGHT, camera.TUNGSTEN], ids=["D65", "A"])


def light_of(source: int) -> np.ndarray:
    """The light of an EXIF light source, relative."""
    return spectra.daylight(6504) if source == camera.DAYLIGHT else spectra.planckian(2856)


@BODIES
@LIGHTS
def test_the_matrix_keeps_white(body: camera.Body, source: int) -> None:
    """The light's XYZ (CIE 15: D65 is 0.9504 1 1.0888, A is 1.0985 1 0.3558) becomes the camera's neutral."""
    white = {camera.DAYLIGHT: (0.9504, 1.0, 1.0888), camera.TUNGSTEN: (1.0985, 1.0, 0.3558)}[source]
    seen = camera.xyz_to_camera(body, source) @ np.array(white)
    np.testing.assert_allclose(seen, camera.neutral(body, light_of(source)), rtol=6e-3)


@BODIES
@LIGHTS
def test_the_matrix_reads_the_chart_well(body: camera.Body, source: int) -> None:
    """Patches that the fit has not seen come out within a mean of 1.6 and at most 5 ΔE00 under its light.

    CIEDE2000 by colour-science; the 24 reflectances by N. Ohta.
    """
    colour = spectra.colour_science()
    light = light_of(source)
    patches = np.array(list(spectra.chart().values()))
    seen = camera.response(body, patches * light) / camera.response(body, light)[1]
    found = seen @ np.linalg.inv(camera.xyz_to_camera(body, source)).T
    true = spectra.tristimulus(patches * light) / spectra.luminance(light)
    white = colour.XYZ_to_xy(spectra.tristimulus(light))
    error = colour.delta_E(colour.XYZ_to_Lab(found, white), colour.XYZ_to_Lab(true, white))
    assert error.mean() < 1.6
    assert error.max() < 5.0


def test_the_observer_sees_d65_where_the_standard_puts_it() -> None:
    """Computed D65 has x 0.3127, y 0.3290 (CIE 15) on our grid of 400 to 700 nm."""
    xyz = spectra.tristimulus(spectra.daylight(6504))
    np.testing.assert_allclose(xyz[:2] / xyz.sum(), [0.3127, 0.3290], atol=5e-4)


@pytest.mark.parametrize(("seconds", "f_number", "ev"), [(1 / 125, 16, 14.966), (1 / 100, 16, 14.644)])
def test_exposure_values_are_those_of_the_apex_system(seconds: float, f_number: float, ev: float) -> None:
    """Ev = log2 N²/t: f/16 at 1/125 s is 14.966, at 1/100 s 14.644 (APEX)."""
    assert camera.Exposure(seconds, f_number, 100).ev100 == pytest.approx(ev, abs=1e-3)


@BODIES
def test_a_metered_grey_falls_on_an_eighth_of_saturation(body: camera.Body) -> None:
    """An even field as metered reads 12.7 % of saturation (ISO 12232), within a sixth of a stop."""
    planes = np.full((64, 96, 3), 800.0)
    exposure = camera.choose_exposure(camera.meter(planes), 5.6, slowest=1 / 60, base_iso=body.base_iso)
    assert np.log2(camera.signal(planes, exposure).mean() / 0.127) == pytest.approx(0, abs=1 / 6 + 0.02)


@BODIES
@pytest.mark.parametrize("iso", [400, 6400])
def test_noise_has_the_variance_that_the_profile_states(body: camera.Body, iso: int) -> None:
    """The spread of an even field is scale · signal + offset, as DNG defines NoiseProfile."""
    planes = np.full((300, 300, 3), 5.0)
    exposure = camera.Exposure(1 / 60, 4.0, iso)
    mosaic = camera.expose(body, planes, exposure, seed=3).astype(float)
    level = (mosaic - body.black) / (body.white - body.black)
    scale, offset = camera.noise_profile(body, iso)
    assert level.mean() == pytest.approx(camera.signal(planes, exposure).mean(), rel=0.01)
    assert level.var() == pytest.approx(scale * level.mean() + offset, rel=0.03)


@BODIES
def test_what_is_too_bright_clips_at_white(body: camera.Body) -> None:
    """Nothing passes the white level, and without a seed nothing is noisy."""
    mosaic = camera.expose(body, np.full((12, 12, 3), 1e6), camera.Exposure(1, 2.0, 100), seed=None)
    assert (mosaic == body.white).all()


@BODIES
@pytest.mark.parametrize("kelvin", [5000, 6500, 8000])
def test_a_grey_scene_in_daylight_gets_nearly_the_right_white(body: camera.Body, kelvin: float) -> None:
    """In an even grey scene the camera's estimate is within 12 mired."""
    light = spectra.of_luminance(spectra.daylight(kelvin), 500.0)
    planes = np.ones((60, 60, 1)) * camera.response(body, light)
    mosaic = camera.expose(body, planes, camera.Exposure(1 / 500, 5.6, body.base_iso), seed=1)
    _, mired = camera.estimate_white(body, mosaic, 6.0)
    assert mired == pytest.approx(1e6 / kelvin, abs=12)


def test_in_bright_light_sunlight_is_assumed_for_the_most_part() -> None:
    """A picture full of sky light of 10000 K (100 mired, kept to 115) at EV 15: seven tenths towards 185."""
    planes = np.ones((60, 60, 1)) * camera.response(
        camera.K2, spectra.of_luminance(spectra.daylight(10000), 4000.0)
    )
    mosaic = camera.expose(camera.K2, planes, camera.Exposure(1 / 500, 8.0, 100), seed=1)
    assert camera.estimate_white(camera.K2, mosaic, 15.0)[1] == pytest.approx(0.3 * 100 + 0.7 * 185, abs=4)


def test_lamp_light_is_left_a_little_warm() -> None:
    """Under 2700 K (370 mired) the estimate stops at 330."""
    planes = np.ones((60, 60, 1)) * camera.response(
        camera.K2, spectra.of_luminance(spectra.planckian(2700), 50.0)
    )
    mosaic = camera.expose(camera.K2, planes, camera.Exposure(1 / 60, 5.6, 400), seed=1)
    assert camera.estimate_white(camera.K2, mosaic, 6.0)[1] == 330.0
