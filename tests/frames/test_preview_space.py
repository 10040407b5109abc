"""Colour spaces of camera renderings."""

from __future__ import annotations

import numpy as np
import pytest

from colour_oracle import colour
from driftline.frames.preview_space import ADOBE_RGB, GREY, PROPHOTO, SRGB, stated_space, to_srgb
from driftline.frames.tags import exif_of_bytes
from frames.written import COLOR_SPACE, exif_block, picture

# Encoded sRGB colours that Adobe RGB and ProPhoto RGB hold too.
COLOURS = np.array(
    [[0.2, 0.5, 0.3], [0.9, 0.1, 0.15], [0.5, 0.5, 0.5], [0.02, 0.03, 0.9], [1, 1, 1], [0, 0, 0]]
)


def encoded_by_oracle(name: str) -> np.ndarray:
    """The colours encoded in another space by colour-science, whites adapted by Bradford."""
    module = colour()
    spaces = module.RGB_COLOURSPACES
    linear = module.RGB_to_RGB(
        COLOURS,
        spaces["sRGB"],
        spaces[name],
        chromatic_adaptation_transform="Bradford",
        apply_cctf_decoding=True,
    )
    return spaces[name].cctf_encoding(np.clip(linear, 0, None))


@pytest.mark.parametrize(("name", "space"), [("Adobe RGB (1998)", ADOBE_RGB), ("ProPhoto RGB", PROPHOTO)])
def test_against_colour_science(name: str, space: str) -> None:
    """Colours encoded in a larger space come back as the sRGB they were."""
    pixels = encoded_by_oracle(name).astype(np.float32)[None]
    assert to_srgb(pixels, space) == pytest.approx(COLOURS[None], abs=4e-3)


def test_what_srgb_does_not_hold_is_clipped() -> None:
    """Adobe RGB's green lies outside sRGB and stays within 0 … 1."""
    green = to_srgb(np.array([[[0, 1, 0]]], np.float32), ADOBE_RGB)
    assert green.tolist() == [[[0, 1, 0]]]


def test_greys_stay_grey() -> None:
    """Neutral pixels stay neutral in every space."""
    greys = np.repeat(np.linspace(0, 1, 11, dtype=np.float32)[None, :, None], 3, axis=2)
    for space in (ADOBE_RGB, PROPHOTO, GREY, SRGB):
        found = to_srgb(greys, space)
        assert np.ptp(found, axis=2).max() < 2e-3
        assert found.dtype == np.float32


def test_srgb_is_left_alone() -> None:
    """sRGB is not touched."""
    pixels = np.random.default_rng(1).random((4, 5, 3)).astype(np.float32)
    assert np.array_equal(to_srgb(pixels, SRGB), pixels)


@pytest.mark.parametrize(
    ("space", "index", "found"),
    [
        (1, "R98", SRGB),
        (65535, "R03", ADOBE_RGB),
        (65535, "R98", SRGB),
        (65535, None, SRGB),
        (2, None, ADOBE_RGB),
        (None, None, SRGB),
    ],
)
def test_exif(space: int | None, index: str | None, found: str) -> None:
    """EXIF 2.3 and DCF 2.0: "uncalibrated" with R03 is the optional space, Adobe RGB; else sRGB."""
    exif = {} if space is None else {COLOR_SPACE: space}
    interop = None if index is None else {1: index}
    tags = exif_of_bytes(picture(size=(16, 16), exif=exif_block(exif=exif, interop=interop)))
    assert stated_space(None, tags) == found


def test_the_jpegs_own_exif_goes_first() -> None:
    """What the JPEG says of itself counts before what the raw says."""
    own = exif_of_bytes(picture(size=(16, 16), exif=exif_block(exif={COLOR_SPACE: 1})))
    raw = exif_of_bytes(
        picture(size=(16, 16), exif=exif_block(exif={COLOR_SPACE: 65535}, interop={1: "R03"}))
    )
    assert stated_space(None, own, raw) == SRGB
    assert stated_space(None, {}, raw) == ADOBE_RGB


@pytest.mark.parametrize(("code", "space"), [(1, GREY), (2, SRGB), (3, ADOBE_RGB), (4, PROPHOTO)])
def test_dng(code: int, space: str) -> None:
    """DNG 1.4, PreviewColorSpace."""
    assert stated_space(code) == space


@pytest.mark.parametrize("code", [0, 9, None])
def test_dng_unknown(code: int | None) -> None:
    """0 is unknown in DNG 1.4; then EXIF counts, and sRGB where that is silent."""
    assert stated_space(code) == SRGB
