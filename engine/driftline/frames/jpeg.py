"""Decode a JPEG to encoded sRGB, at reduced size where that is asked."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import numpy as np

from driftline.arrays import EncodedRGB
from driftline.colorimetry.encodings import srgb_decode, srgb_encode
from driftline.frames.preview_space import apply_profile, to_srgb


class JpegError(ValueError):
    """A JPEG that cannot be decoded, with the reason in words."""


@dataclass(frozen=True)
class JpegSize:
    """Width and height as stored."""

    width: int
    height: int


def jpeg_size(blob: bytes) -> JpegSize:
    """Width and height of a JPEG as stored.

    Raises
    ------
    JpegError
        If it is not one.
    """
    with _opened(blob) as picture:
        return JpegSize(*picture.size)


def decode_jpeg(blob: bytes, space: str, *, max_edge: int | None = None) -> tuple[EncodedRGB, str]:
    """A JPEG as encoded sRGB, as stored.

    Parameters
    ----------
    blob
        The JPEG's bytes.
    space
        The colour space its tags state; an embedded ICC profile goes before.
    max_edge
        Longest edge wanted; a larger picture is averaged down in linear light. The decoder does part of it
        by scaling its transform, down to twice the wanted size.

    Returns
    -------
    pixels, space
        float32 (h, w, 3) in [0, 1], and the name of the space they were in.

    Raises
    ------
    JpegError
        If the picture is damaged or breaks off.
    """
    with _opened(blob) as picture:
        if max_edge is not None:
            picture.draft("RGB", (2 * max_edge, 2 * max_edge))
        profile = picture.info.get("icc_profile")
        rgb, name = apply_profile(picture, profile) if profile else (picture.convert("RGB"), space)
        pixels = np.asarray(rgb, dtype=np.float32) / np.float32(255)
    pixels = pixels if profile else to_srgb(pixels, space)
    return _reduced(pixels, max_edge), name


def _reduced(pixels: EncodedRGB, max_edge: int | None) -> EncodedRGB:
    """Average down in linear light so that the long edge is ``max_edge``; smaller pictures stay."""
    from PIL import Image  # noqa: PLC0415

    height, width = pixels.shape[:2]
    if max_edge is None or max(height, width) <= max_edge:
        return pixels
    scale = max_edge / max(height, width)
    size = (max(round(width * scale), 1), max(round(height * scale), 1))
    linear = srgb_decode(pixels)
    planes = [Image.fromarray(linear[..., index]).resize(size, Image.Resampling.BOX) for index in range(3)]
    return np.asarray(srgb_encode(np.stack([np.asarray(plane) for plane in planes], axis=-1)))


@contextmanager
def _opened(blob: bytes) -> Iterator[Any]:
    from PIL import Image  # noqa: PLC0415 — only where a picture is read

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            picture = Image.open(io.BytesIO(blob), formats=["JPEG"])
        with picture:
            yield picture
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError, MemoryError) as error:
        raise JpegError(str(error) or type(error).__name__) from None
