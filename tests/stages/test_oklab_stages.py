"""Chroma, bands, mono, split and gamut: the stages in Oklab."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

import colour_oracle
from driftline.colorimetry.oklab import oklab_to_oklch, oklch_to_oklab, rec2020_to_oklab, srgb_to_oklab
from driftline.stages.chroma import HueBand, chroma
from driftline.stages.gamut import gamut
from driftline.stages.mono import FILTER_WEIGHTS, mono
from driftline.stages.split import split

CIRCLE = oklch_to_oklab(np.stack([np.full(720, 0.6), np.full(720, 0.1), np.arange(720) / 2], axis=1)).astype(
    np.float32
)


def hue(lab: np.ndarray) -> np.ndarray:
    """OkLCh hue in degrees."""
    return oklab_to_oklch(lab)[..., 2]


def test_chroma_scale_multiplies_chroma_only() -> None:
    """Lightness and hue stay."""
    out = oklab_to_oklch(chroma(CIRCLE, scale=1.3))
    assert out[:, 1] == pytest.approx(np.full(720, 0.13), rel=1e-5)
    assert np.allclose(np.exp(1j * np.radians(out[:, 2] - hue(CIRCLE))), 1, atol=1e-5)


def test_a_band_acts_at_its_hue_and_fades_smoothly_to_nothing() -> None:
    """A turn of -4 degrees at the centre, half of it half-way out, none beyond; no jumps on the circle."""
    turn = (hue(chroma(CIRCLE, bands=[HueBand(40, 35, turn=-4)])) - hue(CIRCLE) + 180) % 360 - 180
    assert turn[80] == pytest.approx(-4, abs=1e-3)
    assert turn[115] == pytest.approx(-2, abs=1e-3)
    assert np.abs(turn[160:700]).max() < 1e-3
    assert np.abs(np.diff(turn)).max() < 0.15


def test_bands_wrap_round_the_circle() -> None:
    """A band at 355 degrees acts on hue 5."""
    out = chroma(CIRCLE, bands=[HueBand(355, 30, scale=1.5)])
    assert oklab_to_oklch(out)[10, 1] > 0.11


def test_overlapping_bands_commute() -> None:
    """The order of bands does not matter."""
    one, two = HueBand(30, 50, turn=6, scale=1.2, lightness=0.05), HueBand(60, 40, turn=-3, scale=0.8)
    assert np.allclose(chroma(CIRCLE, bands=[one, two]), chroma(CIRCLE, bands=[two, one]), atol=1e-6)


def test_a_band_leaves_greys_alone() -> None:
    """Lightness of a neutral is not a matter of hue."""
    grey = np.float32([[0.5, 0, 0]])
    assert chroma(grey, bands=[HueBand(0, 180, lightness=0.2, turn=30)]) == pytest.approx(grey, abs=1e-6)


@pytest.mark.parametrize("name", FILTER_WEIGHTS)
def test_a_grey_is_unchanged_by_any_contrast_filter(name: str) -> None:
    """After the compensation that a filter's factor asks for, a grey card keeps its density."""
    grey = np.float32([[0.25, 0, 0], [0.6, 0, 0], [0.95, 0, 0]])
    assert mono(grey, weights=FILTER_WEIGHTS[name])[:, 0] == pytest.approx(grey[:, 0], abs=1e-5)


def test_filters_darken_a_sky_in_the_order_of_the_handbook() -> None:
    """Sky darkens from 8 to 15 to 25 to 29 (Kodak F-4016); blue lightens it.

    The sky is the 'blue sky' patch of the 24-patch chart; red brick its 'moderate red'.
    """
    sky, red = (
        rec2020_to_oklab(colour_oracle.chart_rec2020(name)[None].astype(np.float32))
        for name in ("blue sky", "moderate red")
    )
    tones = {name: float(mono(sky, weights=w)[0, 0]) for name, w in FILTER_WEIGHTS.items()}
    order = ["none", "yellow", "deep-yellow", "orange", "red", "deep-red"]
    assert [tones[n] for n in order] == sorted((tones[n] for n in order), reverse=True)
    assert tones["blue"] > tones["none"]
    lighter = {name: float(mono(red, weights=w)[0, 0]) for name, w in FILTER_WEIGHTS.items()}
    assert lighter["red"] > lighter["none"] > lighter["blue"]


NM = np.arange(380.0, 731, 5)
EVEN_FILM = np.clip((655 - NM) / 55, 0, 1) * np.clip((NM - 380) / 20, 0, 1)
PUBLISHED = {"yellow": (2 / 3, 1 / 3), "deep-yellow": (1, 1 / 3), "orange": (2, None), "red": (3, 2),
             "deep-red": (4, 3)}  # fmt: skip
"""Stops in daylight and in tungsten light: Wratten 8, 12, 25 (Kodak F-4016, p. 5), 29 (from memory); orange:
common practice."""
BANDS = {"yellow-green": (480, 600), "green": (495, 575), "blue": (380, 470)}


def factor_stops(passed: np.ndarray, light: np.ndarray) -> float:
    """The exposure that a filter asks for, in stops."""
    return float(np.log2((light * EVEN_FILM).sum() / (light * EVEN_FILM * passed).sum()))


def sharp_cut(at: float) -> np.ndarray:
    """What a yellow to red filter lets through."""
    return 1 / (1 + np.exp(-(NM - at) / 8))


def passed_by(name: str) -> np.ndarray:
    """A filter: of one daylight factor, or of a band."""
    if name in BANDS:
        low, high = BANDS[name]
        return 1 / (1 + np.exp(-(NM - low) / 6)) / (1 + np.exp((NM - high) / 6))
    daylight = colour_oracle.illuminant("D55", NM)
    at = brentq(lambda cut: factor_stops(sharp_cut(cut), daylight) - PUBLISHED[name][0], 420, 660)
    return sharp_cut(at)


@pytest.mark.parametrize("name", [name for name, stops in PUBLISHED.items() if stops[1]])
def test_the_film_behind_the_weights_knows_the_published_tungsten_factors(name: str) -> None:
    """A cut of the daylight factor has the tungsten factor too, within the handbook's third of a stop."""
    tungsten = factor_stops(passed_by(name), colour_oracle.illuminant("A", NM))
    assert tungsten == pytest.approx(PUBLISHED[name][1], abs=1 / 3)


@pytest.mark.parametrize("name", [*PUBLISHED, *BANDS])
def test_filters_do_to_the_chart_what_they_do_on_film(name: str) -> None:
    """Root mean square 0.4 stop over the 24 patches, whose spectra are published (BabelColor average)."""
    bare = colour_oracle.illuminant("D55", NM) * EVEN_FILM
    seen = bare * passed_by(name)
    apart = []
    for patch in colour_oracle.chart_names():
        reflectance = colour_oracle.chart_reflectance(patch, NM)
        on_film = (seen * reflectance).sum() / seen.sum() / ((bare * reflectance).sum() / bare.sum())
        lab = rec2020_to_oklab(colour_oracle.chart_rec2020(patch)[None].astype(np.float32))
        tones = [float(mono(lab, weights=FILTER_WEIGHTS[n])[0, 0]) ** 3 for n in (name, "none")]
        apart.append(np.log2(max(tones[0], 2e-3) / tones[1] / on_film))
    assert np.sqrt(np.square(apart).mean()) < 0.4


def test_split_tints_low_and_high_tones_and_leaves_lightness() -> None:
    """Shadows get the low tint, highlights the high one, black and white none."""
    ramp = np.zeros((101, 3), np.float32)
    ramp[:, 0] = np.linspace(0, 1, 101)
    out = split(ramp, low=(250, 0.02), high=(85, 0.015), pivot=0.5, spread=0.2)
    assert np.array_equal(out[:, 0], ramp[:, 0])
    assert oklab_to_oklch(out)[25, 1:] == pytest.approx([0.02, 250], rel=1e-3)
    assert oklab_to_oklch(out)[80, 1:] == pytest.approx([0.015, 85], rel=1e-3)
    assert np.array_equal(out[[0, 100], 1:], np.zeros((2, 2)))
    assert np.abs(np.diff(out[:, 1:], axis=0)).max() < 0.004


def test_gamut_leaves_what_is_inside() -> None:
    """Every sRGB colour comes back unchanged."""
    rgb = np.random.default_rng(1).uniform(0.0, 1, (500, 3)).astype(np.float32)
    assert gamut(srgb_to_oklab(rgb)) == pytest.approx(rgb, abs=2e-4)


@pytest.mark.parametrize("space", ["srgb", "display-p3"])
def test_gamut_keeps_lightness_and_hue(space: str) -> None:
    """Rec. 2020 colours come inside by losing chroma alone (CSS Color 4, section 13)."""
    rgb = np.random.default_rng(2).uniform(0, 1, (2000, 3)).astype(np.float32) ** 2
    lab = rec2020_to_oklab(rgb)
    out = gamut(lab, space=space)
    assert out.min() >= 0
    assert out.max() <= 1
    back = srgb_to_oklab(out) if space == "srgb" else rec2020_to_oklab(colour_oracle.p3_to_rec2020(out))
    before, after = oklab_to_oklch(lab), oklab_to_oklch(back)
    assert np.abs(before[:, 0] - after[:, 0]).max() < 2e-3
    assert (after[:, 1] <= before[:, 1] + 2e-3).all()
    coloured = after[:, 1] > 0.03
    apart = np.abs((before[coloured, 2] - after[coloured, 2] + 180) % 360 - 180)
    assert apart.max() < 1.0


def test_gamut_is_smooth_along_a_gradient() -> None:
    """A line from grey to far outside the gamut never steps by more than its own increment."""
    line = oklch_to_oklab(np.stack([np.full(600, 0.7), np.linspace(0, 0.4, 600), np.full(600, 30.0)], axis=1))
    out = gamut(line.astype(np.float32))
    assert np.abs(np.diff(out, axis=0)).max() < 0.01
