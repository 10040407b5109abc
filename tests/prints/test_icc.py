"""The profiles are read by LittleCMS, which knows nothing of us."""

from __future__ import annotations

import hashlib
import io
from itertools import product

import numpy as np
import pytest
from PIL import Image, ImageCms

from driftline.errors import UsageError
from driftline.prints.icc import icc_profile

FROZEN = {
    "srgb": "46624eb8691faf81d64d21c5c0bba7c591b218c079d50b65741e7abef90e69e8",
    "display-p3": "583d347e237c9a2fa01be8aeb2eb0481b0be35ca869d6e8d97c59d39818a248a",
}

# sRGB under D50 (columns X, Y, Z): B. Lindbloom, 'RGB/XYZ Matrices', sRGB adapted by Bradford. His whites
# have five digits (Z of D50 0.82521, not 0.8249 as in ICC.1), hence 3e-4. P3_XY: SMPTE EG 432-1.
SRGB_D50 = [
    [0.4360747, 0.2225045, 0.0139322],
    [0.3850649, 0.7168786, 0.0971045],
    [0.1430804, 0.0606169, 0.7141733],
]
P3_XY = [(0.680, 0.320), (0.265, 0.690), (0.150, 0.060)]


def opened(space: str) -> ImageCms.ImageCmsProfile:
    """The profile as LittleCMS reads it."""
    return ImageCms.ImageCmsProfile(io.BytesIO(icc_profile(space)))  # type: ignore[arg-type]


@pytest.mark.parametrize("space", FROZEN)
def test_bytes_are_frozen(space: str) -> None:
    """A print of today and one of next year carry the same profile, byte for byte."""
    assert hashlib.sha256(icc_profile(space)).hexdigest() == FROZEN[space]  # type: ignore[arg-type]


@pytest.mark.parametrize("space", FROZEN)
def test_an_independent_reader_finds_a_display_profile(space: str) -> None:
    """LittleCMS reads class, spaces, version, white (ICC.1 7.2.16: D50) and a name that people know."""
    profile = opened(space).profile
    assert (profile.device_class, profile.xcolor_space, profile.connection_space) == ("mntr", "RGB ", "XYZ ")
    assert profile.version == pytest.approx(4.4)
    assert profile.media_white_point[0] == pytest.approx((0.9642, 1.0, 0.8249), abs=5e-5)
    assert profile.profile_description in {"sRGB, IEC 61966-2-1", "Display P3"}


def test_srgb_colorants_equal_the_published_ones() -> None:
    """The primaries under D50 stand where Lindbloom's table has them, and as LittleCMS computes its own."""
    ours, theirs = opened("srgb").profile, ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).profile
    for profile, tolerance in ((SRGB_D50, 3e-4), (_colorants(theirs), 1e-4)):
        assert np.allclose(_colorants(ours), profile, atol=tolerance)


@pytest.mark.parametrize("space", FROZEN)
def test_colorants_sum_to_the_white_of_the_connection_space(space: str) -> None:
    """Equal channels are exactly neutral (ICC.1 annex F): no rounding may tint white."""
    profile = opened(space).profile
    assert np.array_equal(np.sum(_colorants(profile), axis=0) * 65536, [0xF6D6, 0x10000, 0xD32D])


def test_our_srgb_is_the_srgb_of_littlecms() -> None:
    """4913 patches through our profile and LittleCMS's own sRGB come out within one code value."""
    steps = [*range(0, 256, 16), 255]
    patches = np.array(list(product(steps, steps, steps)), np.uint8)[None]
    out = ImageCms.profileToProfile(Image.fromarray(patches), opened("srgb"), ImageCms.createProfile("sRGB"))
    assert out is not None
    assert np.abs(np.asarray(out).astype(int) - patches).max() <= 1


def test_p3_primaries_lie_where_eg_432_puts_them() -> None:
    """Undoing the stated adaptation gives the chromaticities of SMPTE EG 432-1 to their third digit."""
    profile = opened("display-p3").profile
    under_d65 = np.linalg.solve(
        np.asarray(profile.chromatic_adaptation[0]), np.transpose(_colorants(profile))
    )
    assert np.allclose((under_d65[:2] / under_d65.sum(axis=0)).T, P3_XY, atol=2e-4)


def test_grey_is_grey_in_both_spaces() -> None:
    """The curve is shared, so a neutral ramp keeps its code values from one space to the other."""
    ramp = np.repeat(np.arange(256, dtype=np.uint8)[None, :, None], 3, axis=2)
    out = ImageCms.profileToProfile(Image.fromarray(ramp), opened("display-p3"), opened("srgb"))
    assert out is not None
    assert np.abs(np.asarray(out).astype(int) - ramp).max() <= 1


def test_identifier_is_the_md5_of_the_profile() -> None:
    """ICC.1 7.2.18: MD5 with flags (44), intent (64) and identifier (84) zeroed."""
    profile = bytearray(icc_profile("srgb"))
    identifier = bytes(profile[84:100])
    profile[44:48] = profile[64:68] = bytes(4)
    profile[84:100] = bytes(16)
    assert hashlib.md5(profile, usedforsecurity=False).digest() == identifier


def test_unknown_space_is_refused() -> None:
    """A space we do not make is an error with the list of those we do."""
    with pytest.raises(UsageError, match="known: srgb, display-p3"):
        icc_profile("wide")  # type: ignore[arg-type]


def _colorants(profile: ImageCms.core.CmsProfile) -> list[tuple[float, float, float]]:
    return [profile.red_colorant[0], profile.green_colorant[0], profile.blue_colorant[0]]
