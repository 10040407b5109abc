"""Decode a JPEG to encoded sRGB, at reduced size where that is asked."""

from __future__ import annotations

import io
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.encodings import srgb_decode, srgb_encode
from driftline.frames.preview_space import SRGB, apply_profile, to_srgb

_ENCODED = np.arange(256, dtype=np.float32) / np.float32(255)
_LINEAR = srgb_decode(np.arange(256) / 255).astype(np.float32)


_ROWS_AT_A_TIME = (
    64  # four times as fast as all at once: Pillow joins many small pieces of what it hands over
)


class Reduce(Protocol):
    """What averages code values (H, W, 3) down in linear light."""

    def __call__(
        self, codes: NDArray[np.uint8], max_edge: int, *, linear: bool = False
    ) -> NDArray[np.float32]:
        """A picture with the long edge wanted, encoded sRGB, or as the light it is."""


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


def reduced_codes(codes: NDArray[np.uint8], max_edge: int, *, linear: bool = False) -> NDArray[np.float32]:
    """Average code values down in linear light, so that the long edge is ``max_edge``."""
    return _reduced(_LINEAR[codes], max_edge, linear)


def decode_jpeg(
    blob: bytes,
    space: str,
    *,
    max_edge: int | None = None,
    reduce: Reduce = reduced_codes,
    linear: bool = False,
) -> tuple[NDArray[np.float32], str]:
    """A JPEG as encoded sRGB, as stored.

    Parameters
    ----------
    blob
        The JPEG's bytes.
    space
        The colour space its tags state; an embedded ICC profile goes before.
    max_edge
        Longest edge wanted; a larger picture is averaged down in linear light. The decoder does part of it
        by scaling its transform, down to twice the wanted size. (To one and a half times: fine detail then
        reads 0.10 to 0.15 less, measured on two cameras' renderings.)
    reduce
        What averages code values down; a faster one may stand in.
    linear
        Not encoded: the light itself.

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
        size = picture.size
        if max_edge is not None:
            picture.draft("RGB", (2 * max_edge, 2 * max_edge))
        profile = picture.info.get("icc_profile")
        rgb, name = apply_profile(picture, profile) if profile else (picture, space)
        codes = _decoded(blob) if rgb is picture and rgb.mode == "RGB" and rgb.size == size else None
        if codes is None:
            codes = _codes(rgb if rgb.mode == "RGB" else rgb.convert("RGB"))
    converted = to_srgb(_ENCODED[codes], space) if space != SRGB and not profile else None
    if max_edge is not None and max(codes.shape[:2]) > max_edge:
        if converted is not None:
            return _reduced(srgb_decode(converted), max_edge, linear), name
        return reduce(codes, max_edge, linear=linear), name
    if converted is not None:
        return (srgb_decode(converted).astype(np.float32) if linear else converted), name
    return (_LINEAR if linear else _ENCODED)[codes], name


def _decoded(blob: bytes) -> NDArray[np.uint8] | None:
    """A whole picture straight into an array: the same code values in two thirds of the time, or None.

    Anything at all that is odd about the file is left to Pillow, which says what it can still make of it.
    """
    import simplejpeg  # noqa: PLC0415 — only where a picture is read

    try:
        return np.asarray(simplejpeg.decode_jpeg(blob, fastdct=False, fastupsample=False))
    except ValueError:
        return None


def _codes(picture: Any) -> NDArray[np.uint8]:
    """An RGB picture as (H, W, 3)."""
    width, height = picture.size
    codes = np.empty((height, width, 3), np.uint8)
    for top in range(0, height, _ROWS_AT_A_TIME):
        bottom = min(top + _ROWS_AT_A_TIME, height)
        codes[top:bottom] = np.asarray(picture.crop((0, top, width, bottom)))
    return codes


def _reduced(light: NDArray[np.float32], max_edge: int, linear: bool) -> NDArray[np.float32]:
    """Average linear light down so that the long edge is ``max_edge``, and encode it if that is asked."""
    from PIL import Image  # noqa: PLC0415

    height, width = light.shape[:2]
    scale = max_edge / max(height, width)
    size = (max(round(width * scale), 1), max(round(height * scale), 1))
    planes = [Image.fromarray(light[..., index]).resize(size, Image.Resampling.BOX) for index in range(3)]
    small = np.stack([np.asarray(plane) for plane in planes], axis=-1)
    return small if linear else np.asarray(srgb_encode(small))


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
