"""The script that made the shoot, run once at the size of a stamp."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
import rawpy

pytest.importorskip("mitsuba", reason="Mitsuba 3 makes the demo; the product does not need it")
pytest.importorskip("pyoidn", reason="the demo's frames are denoised")


def test_one_tiny_frame_by_the_same_script(tmp_path: Path) -> None:
    """A stamp-sized fog frame renders, is taken, is registered, and opens in LibRaw."""
    from making import shoot

    shoot.main(
        [
            *("--planes", str(tmp_path / "planes"), "--out", str(tmp_path)),
            *("--frames", "fog-wide", "--size", "96", "--draft", "0.2"),
        ]
    )
    (entry,) = json.loads((tmp_path / "registry.json").read_text())["frames"]
    with rawpy.imread(str(tmp_path / entry["file"])) as raw:
        assert raw.sizes.width == 96
        level = (raw.raw_image.astype(float) - 512) / (15892 - 512)
    assert 0.05 < level.mean() < 0.25
    assert entry["truth"]["subject_grey_error_ev"] < 0.0


def test_light_is_carried_through_in_absolute_terms() -> None:
    """A white card under an even sky of 1000 cd/m² reads 1000 cd/m² and the sky's own colour, within 2 %."""
    from making import camera, materials, renderer, spectra
    from making.shapes import Pile

    light = spectra.of_luminance(spectra.daylight(6800.0), 1000.0)
    pile = Pile()
    pile.quads("card_white", np.array([[(-9, -9, 0), (9, -9, 0), (9, 9, 0), (-9, 9, 0)]], dtype=float))
    loaded = renderer.load(
        pile, {"sky": {"type": "constant", "radiance": materials.spectrum(light)}}, wet=False
    )
    view = renderer.View((0, -0.01, 2.0), (0, 0, 0), 50, 0, 2, 16, 16)
    seen = renderer.render(loaded, view, camera.K2, samples=1500).mean(axis=(0, 1)) / 0.90
    np.testing.assert_allclose(seen, camera.response(camera.K2, light), rtol=0.02)


def test_albedo_is_known_without_the_renderer_s_noise() -> None:
    """One ray a pixel sees a grey card's 18 % at every pixel, and what looks up sees up."""
    from making import renderer
    from making.shapes import Pile

    pile = Pile()
    pile.quads("card_grey", np.array([[(-9, -9, 0), (9, -9, 0), (9, 9, 0), (-9, 9, 0)]], dtype=float))
    view = renderer.View((0, -0.01, 2.0), (0, 0, 0), 50, 0, 2, 16, 16)
    met = renderer.guides(pile, view, wet=False, samples=1)
    np.testing.assert_allclose(met.albedo, 0.18, rtol=1e-5)
    np.testing.assert_allclose(met.error, 0.0, atol=1e-4)
    np.testing.assert_allclose(np.abs(met.normal), np.broadcast_to((0, 0, 1), (16, 16, 3)), atol=1e-6)


def test_denoising_leaves_texture_alone_and_takes_out_noise() -> None:
    """A check of 10 % on light with 20 % noise keeps its contrast within 1 %; the noise halves."""
    from making import renderer

    y, x = np.indices((96, 96))
    albedo = np.repeat((0.4 + 0.04 * ((x + y) % 2))[..., None], 3, axis=2)
    noisy = albedo * 500 * np.random.default_rng(1).gamma(25, 1 / 25, (96, 96, 3))
    normal = np.broadcast_to(np.array([0.0, 0.0, 1.0]), albedo.shape)
    clean = renderer.denoise(noisy, renderer.Guides(albedo, np.zeros_like(albedo), normal))
    odd = (x + y) % 2 == 1
    assert clean[odd].mean() / clean[~odd].mean() == pytest.approx(1.1, rel=0.01)
    assert (clean / albedo).std() < 0.5 * (noisy / albedo).std()
