"""Numbers of colour, and nothing else: no pixels' stages, no files, no recipes.

Owns encodings, primaries, Oklab, chromatic adaptation, colour temperature and colour difference. It is
the only door to colour-science, which is loaded lazily for spectral tables and used as oracle in tests.
Read :func:`~driftline.colorimetry.oklab.rec2020_to_oklab` and
:func:`~driftline.colorimetry.temperature.xy_to_cct_duv` first.
"""

from driftline.colorimetry.adaptation import adaptation_matrix
from driftline.colorimetry.difference import XYZ_to_lab, ciede2000, srgb_to_lab
from driftline.colorimetry.encodings import srgb_decode, srgb_encode
from driftline.colorimetry.oklab import (
    XYZ_to_oklab,
    oklab_to_oklch,
    oklab_to_rec2020,
    oklab_to_srgb,
    oklch_to_oklab,
    rec2020_to_oklab,
    srgb_to_oklab,
)
from driftline.colorimetry.primaries import XYZ_to_xy, rgb_to_XYZ, xy_to_XYZ
from driftline.colorimetry.temperature import (
    cct_duv_to_xy,
    daylight_xy,
    mired,
    planckian_xy,
    shifted_white_xy,
    xy_to_cct_duv,
)

__all__ = [
    "XYZ_to_lab",
    "XYZ_to_oklab",
    "XYZ_to_xy",
    "adaptation_matrix",
    "cct_duv_to_xy",
    "ciede2000",
    "daylight_xy",
    "mired",
    "oklab_to_oklch",
    "oklab_to_rec2020",
    "oklab_to_srgb",
    "oklch_to_oklab",
    "planckian_xy",
    "rec2020_to_oklab",
    "rgb_to_XYZ",
    "shifted_white_xy",
    "srgb_decode",
    "srgb_encode",
    "srgb_to_lab",
    "srgb_to_oklab",
    "xy_to_XYZ",
    "xy_to_cct_duv",
]
