"""Decoding JPEGs to encoded sRGB."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageCms

from driftline.colorimetry.encodings import srgb_decode
from driftline.frames.jpeg import JpegError, JpegSize, decode_jpeg, jpeg_size
from driftline.frames.preview_space import ADOBE_RGB, SRGB
from driftline.prints.icc import icc_profile
from frames.written import gradient, picture


def test_pixels() -> None:
    """A JPEG of quality 95 is within a few codes of what was written, as float32 in 0 … 1."""
    pixels, space = decode_jpeg(picture(size=(120, 80)), SRGB)
    assert (pixels.dtype, pixels.shape, space) == (np.float32, (80, 120, 3), SRGB)
    smooth = slice(30, 80)
    assert pixels[smooth, 40:] * 255 == pytest.approx(gradient(120, 80)[smooth, 40:], abs=6)


@pytest.mark.parametrize("subsampling", [0, 1, 2])
@pytest.mark.parametrize("quality", [60, 85, 97])
def test_the_code_values_are_pillows(quality: int, subsampling: int) -> None:
    """Pillow (general purpose) decodes to the same code values, whatever the chroma."""
    blob = picture(size=(123, 77), quality=quality, subsampling=subsampling)
    with Image.open(io.BytesIO(blob)) as opened:
        expected = np.asarray(opened.convert("RGB"))
    assert np.array_equal(np.rint(decode_jpeg(blob, SRGB)[0] * 255), expected)


def test_grey_and_cmyk_come_as_rgb() -> None:
    """A JPEG of one or of four inks has three channels afterwards."""
    assert decode_jpeg(picture(np.full((40, 60), 128, np.uint8)), SRGB)[0].shape == (40, 60, 3)
    out = io.BytesIO()
    Image.new("CMYK", (60, 40), (0, 0, 0, 128)).save(out, "JPEG")
    assert decode_jpeg(out.getvalue(), SRGB)[0].shape == (40, 60, 3)


def test_stated_space() -> None:
    """A picture stated to be Adobe RGB is converted: its colours gain chroma."""
    blob = picture(np.full((40, 60, 3), (60, 160, 60), np.uint8))
    plain, converted = decode_jpeg(blob, SRGB)[0], decode_jpeg(blob, ADOBE_RGB)[0]
    assert np.ptp(converted[5, 5]) > np.ptp(plain[5, 5]) + 0.05


def test_an_icc_profile_goes_before_the_tags() -> None:
    """A Display P3 picture through its profile, against colour-science's P3 → sRGB of the same code."""
    from colour_oracle import colour

    code = np.array([200, 100, 90]) / 255
    spaces = colour().RGB_COLOURSPACES
    wanted = colour().RGB_to_RGB(
        code, spaces["Display P3"], spaces["sRGB"], apply_cctf_decoding=True, apply_cctf_encoding=True
    )
    blob = picture(np.full((40, 60, 3), (200, 100, 90), np.uint8), icc_profile=icc_profile("display-p3"))
    pixels, name = decode_jpeg(blob, ADOBE_RGB)
    assert pixels[20, 30] == pytest.approx(wanted, abs=1.5 / 255)
    assert "P3" in name


def test_an_srgb_profile_changes_nothing() -> None:
    """A profile named sRGB leaves every code as it is."""
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    assert np.array_equal(
        decode_jpeg(picture(icc_profile=profile), ADOBE_RGB)[0], decode_jpeg(picture(), SRGB)[0]
    )


def test_a_broken_profile_is_an_error_in_words() -> None:
    """A profile that cannot be read is not passed over in silence."""
    with pytest.raises(JpegError, match="ICC profile cannot be used"):
        decode_jpeg(picture(icc_profile=b"junk" * 50), SRGB)


@pytest.mark.parametrize("max_edge", [16, 63, 100, 239, 240, 480])
@pytest.mark.parametrize("size", [(480, 320), (320, 480), (481, 317)])
def test_reduced_size(size: tuple[int, int], max_edge: int) -> None:
    """The long edge is exactly what was asked, and the proportions stay."""
    height, width, _ = decode_jpeg(picture(size=size), SRGB, max_edge=max_edge)[0].shape
    assert max(height, width) == max_edge
    assert width / height == pytest.approx(size[0] / size[1], rel=0.06)


def test_small_pictures_are_not_enlarged() -> None:
    """A picture that fits stays as it is."""
    blob = picture(size=(90, 60))
    assert np.array_equal(decode_jpeg(blob, SRGB, max_edge=90)[0], decode_jpeg(blob, SRGB)[0])


def test_reduction_keeps_the_light() -> None:
    """Black and white stripes average to half the light, code 188 in sRGB (IEC 61966-2-1)."""
    stripes = np.zeros((64, 64, 3), np.uint8)
    stripes[::2] = 255
    reduced = decode_jpeg(picture(stripes, quality=100), SRGB, max_edge=32)[0]
    assert reduced[4:-4, 4:-4] * 255 == pytest.approx(188, abs=2)


def test_reduction_agrees_with_averaging_everything() -> None:
    """Scaling in the decoder, down to twice the size, differs little from averaging all the light."""
    blob = picture(size=(960, 640))
    whole = srgb_decode(decode_jpeg(blob, SRGB)[0]).reshape(80, 8, 120, 8, 3).mean(axis=(1, 3))
    reduced = srgb_decode(decode_jpeg(blob, SRGB, max_edge=120)[0])
    assert np.abs(reduced - whole).mean() < 2e-3


@pytest.mark.parametrize("space", [SRGB, ADOBE_RGB])
@pytest.mark.parametrize("max_edge", [None, 90])
def test_light_is_what_the_code_values_stand_for(space: str, max_edge: int | None) -> None:
    """Asked for linear light, it is that of the encoded picture (IEC 61966-2-1), reduced or not."""
    blob = picture(size=(240, 160))
    encoded, light = (
        decode_jpeg(blob, space, max_edge=max_edge, linear=linear)[0] for linear in (False, True)
    )
    assert light.dtype == np.float32
    np.testing.assert_allclose(light, srgb_decode(encoded), atol=2e-6)


def test_size() -> None:
    """Width and height without decoding."""
    assert jpeg_size(picture(size=(480, 320))) == JpegSize(480, 320)


@pytest.mark.parametrize("part", [0, 3, 20, 300, 0.5, 0.95])
def test_broken_off(part: float) -> None:
    """A JPEG that breaks off anywhere is an error with a reason, never half a picture."""
    blob = picture()
    with pytest.raises(JpegError, match=r"\w"):
        decode_jpeg(blob[: int(part * len(blob)) if isinstance(part, float) else part], SRGB)


@pytest.mark.parametrize("kind", ["PNG", "TIFF", "GIF"])
def test_other_kinds_are_no_jpeg(kind: str) -> None:
    """Only JPEG is taken for one."""
    out = io.BytesIO()
    Image.new("RGB", (40, 40)).save(out, kind)
    with pytest.raises(JpegError):
        decode_jpeg(out.getvalue(), SRGB)
