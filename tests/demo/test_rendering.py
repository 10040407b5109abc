"""The camera's rendering: what its parameters say is what the JPEG shows."""

from __future__ import annotations

import io

import numpy as np
import pytest
from making import camera, lens, rendering, spectra
from PIL import Image

BODIES = pytest.mark.parametrize("body", list(camera.BODIES.values()), ids=list(camera.BODIES))


def _readout(body: camera.Body, planes: np.ndarray, distortion: float = 0.0) -> rendering.Readout:
    sites = camera.colours(body, planes.shape)
    signal = np.take_along_axis(planes, sites[..., None].astype(int), axis=2)[..., 0]
    return rendering.Readout(
        signal=signal,
        sites=sites,
        neutral=camera.neutral(body, spectra.daylight(5500)),
        xyz_to_camera=camera.xyz_to_camera(body),
        noise=camera.noise_profile(body, 100),
        distortion=distortion,
        falloff_ev=0.0,
    )


def _picture(jpeg: bytes) -> np.ndarray:
    with Image.open(io.BytesIO(jpeg)) as picture:
        return np.asarray(picture).astype(float)


@BODIES
def test_a_metered_grey_is_rendered_as_code_118(body: camera.Body) -> None:
    """12.7 % of saturation, neutral, becomes sRGB 118 (18 % grey; IEC 61966-2-1) within 2 codes."""
    planes = 0.18 / np.sqrt(2) * np.ones((48, 48, 1)) * camera.neutral(body, spectra.daylight(5500))
    picture = _picture(rendering.render(_readout(body, planes), rendering.EVERYDAY))
    np.testing.assert_allclose(picture[8:-8, 8:-8].mean(axis=(0, 1)), 118, atol=2)


@BODIES
def test_the_demosaic_returns_smooth_pictures(body: camera.Body) -> None:
    """A smooth coloured gradient comes back within 1 % of full scale away from the edges."""
    y, x = np.mgrid[0:60, 0:60] / 60
    planes = np.stack((0.2 + 0.4 * x, 0.3 + 0.3 * y, 0.5 - 0.3 * x), axis=-1)
    readout = _readout(body, planes)
    found = rendering.demosaic(readout.signal, readout.sites)
    np.testing.assert_allclose(found[8:-8, 8:-8], planes[8:-8, 8:-8], atol=0.01)


def test_lens_correction_undoes_the_lens() -> None:
    """A dot near a corner, drawn through a barrel lens, returns to its place up to the lens's zoom."""
    planes = np.zeros((240, 360, 3))
    planes[40:44, 50:54] = 1.0
    drawn = lens.through(lens.Lens("test", 18, 27, -0.016, 0.0), planes)
    _, _, radius = lens._radii(drawn.shape)
    corrected = lens.scaled(drawn, 1 - 0.016 * radius**2, order=1)[..., 1]

    def centre(picture: np.ndarray) -> np.ndarray:
        y, x = np.mgrid[0:240, 0:360] - np.array([119.5, 179.5])[:, None, None]
        return np.array([(picture * y).sum(), (picture * x).sum()]) / picture.sum()

    np.testing.assert_allclose(centre(corrected) * (1 - 0.016), centre(planes[..., 1]), atol=0.25)


def test_monochrome_is_grey_and_half_the_chroma_is_stored() -> None:
    """The monochrome mode has equal channels; every JPEG is 4:2:2."""
    planes = np.random.default_rng(1).uniform(0.05, 0.4, (32, 48, 3))
    jpeg = rendering.render(_readout(camera.K2, planes), rendering.MONOCHROME)
    picture = _picture(jpeg)
    assert np.ptp(picture, axis=2).max() <= 1
    with Image.open(io.BytesIO(jpeg)) as opened:
        assert [tuple(layer[1:3]) for layer in opened.layer] == [(2, 1), (1, 1), (1, 1)]


def test_the_richer_setting_has_more_chroma_and_contrast() -> None:
    """Against the everyday setting, the rich one spreads tones and colours further."""
    y, x = np.mgrid[0:48, 0:48] / 48
    planes = np.stack((0.05 + 0.3 * x, 0.05 + 0.3 * y, 0.2 - 0.1 * x), axis=-1)
    plain = _picture(rendering.render(_readout(camera.K2, planes), rendering.EVERYDAY))
    rich = _picture(rendering.render(_readout(camera.K2, planes), rendering.RICH))
    assert rich.std() > plain.std()
    assert np.ptp(rich, axis=2).mean() > 1.05 * np.ptp(plain, axis=2).mean()


def test_a_scaled_rendering_is_smaller() -> None:
    """The K6 stores a rendering of two thirds of the raw's size."""
    planes = np.full((60, 90, 3), 0.1)
    picture = _picture(rendering.render(_readout(camera.K6, planes), rendering.EVERYDAY, scale=2 / 3))
    assert picture.shape == (40, 60, 3)
