"""In which colour space a JPEG is encoded, and its pixels as encoded sRGB."""

from __future__ import annotations

import io
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import EncodedRGB, Matrix
from driftline.colorimetry.adaptation import adaptation_matrix
from driftline.colorimetry.encodings import srgb_encode
from driftline.colorimetry.primaries import (
    ADOBE_RGB_1998_TO_SRGB,
    D50_XY,
    D65_XY,
    SRGB_TO_XYZ,
    rgb_to_XYZ,
    xy_to_XYZ,
)
from driftline.frames import tags as exif
from driftline.frames.tags import Tags

SRGB, ADOBE_RGB, PROPHOTO, GREY = "sRGB", "Adobe RGB (1998)", "ProPhoto RGB", "grey with gamma 2.2"
_DNG_SPACES = {1: GREY, 2: SRGB, 3: ADOBE_RGB, 4: PROPHOTO}  # DNG 1.4, PreviewColorSpace
_UNCALIBRATED = 65535
_PROPHOTO_XY = ((0.7347, 0.2653), (0.1596, 0.8404), (0.0366, 0.0001))  # ISO 22028-2 (ROMM RGB)
_GAMMA = {ADOBE_RGB: 563 / 256, PROPHOTO: 1.8, GREY: 2.2}


def stated_space(dng_space: int | None, *sources: Tags) -> str:
    """The colour space that the tags state; sRGB where none does, as EXIF has it.

    Parameters
    ----------
    dng_space
        DNG's PreviewColorSpace of this picture, or None.
    sources
        EXIF, the JPEG's own first. ColorSpace 65535 ("uncalibrated") with InteroperabilityIndex ``R03`` is
        Adobe RGB (EXIF 2.3, DCF optional colour space); some cameras write ColorSpace 2 for it.
    """
    if dng_space in _DNG_SPACES:
        return _DNG_SPACES[dng_space]
    for tags in sources:
        space = exif.number(tags, "EXIF ColorSpace")
        index = exif.text(tags, "Interoperability InteroperabilityIndex", "EXIF InteroperabilityIndex") or ""
        if space == 2 or (space == _UNCALIBRATED and index.startswith("R03")):
            return ADOBE_RGB
        if space is not None:
            return SRGB
    return SRGB


def to_srgb(pixels: NDArray[np.float32], space: str) -> EncodedRGB:
    """Pixels encoded in a named space as encoded sRGB; what lies outside sRGB is clipped.

    Examples
    --------
    >>> grey = to_srgb(np.full((1, 1, 3), 0.5, dtype=np.float32), ADOBE_RGB)
    >>> round(float(grey[0, 0, 0]), 3)
    0.504
    """
    if space == SRGB:
        return pixels
    linear = np.power(pixels, np.float32(_GAMMA[space])) @ _matrix(space).T.astype(np.float32)
    return np.asarray(srgb_encode(np.clip(linear, 0, 1)), dtype=np.float32)


def apply_profile(picture: Any, profile: bytes) -> tuple[Any, str]:
    """A Pillow picture through its ICC profile to sRGB (relative colorimetric), and the profile's name.

    Raises
    ------
    ValueError
        If the profile cannot be used.
    """
    from PIL import ImageCms  # noqa: PLC0415 — only where a picture is read

    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        name = ImageCms.getProfileDescription(source).strip() or "an ICC profile"
        if name.lower().startswith("srgb"):
            return picture.convert("RGB"), name
        intent = ImageCms.Intent.RELATIVE_COLORIMETRIC
        turned = ImageCms.profileToProfile(
            picture, source, ImageCms.createProfile("sRGB"), renderingIntent=intent, outputMode="RGB"
        )
    except (ImageCms.PyCMSError, OSError) as error:
        raise ValueError(f"its ICC profile cannot be used: {error}") from None
    return turned, name


def _matrix(space: str) -> Matrix:
    if space == ADOBE_RGB:
        return np.asarray(ADOBE_RGB_1998_TO_SRGB, dtype=np.float64)
    if space == GREY:
        return np.eye(3)
    to_d65 = adaptation_matrix(xy_to_XYZ(D50_XY), xy_to_XYZ(D65_XY))
    return np.asarray(
        np.linalg.solve(SRGB_TO_XYZ, to_d65 @ rgb_to_XYZ(_PROPHOTO_XY, D50_XY)), dtype=np.float64
    )
