"""The camera rendering: the JPEG that the camera made of the same exposure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.frames import tags as exif
from driftline.frames.directories import Directories
from driftline.frames.jpeg import JpegError, JpegSize, Reduce, decode_jpeg, jpeg_size, reduced_codes
from driftline.frames.orientation import exif_orientation, flip_to_orientation, upright
from driftline.frames.pairing import MIN_EDGE, against, companions
from driftline.frames.preview import Preview
from driftline.frames.preview_space import SRGB, stated_space
from driftline.frames.tags import Tags

_TURNS = {5, 6, 7, 8}


@dataclass(frozen=True)
class Source:
    """A JPEG of the exposure, or why there is none.

    Attributes
    ----------
    blob
        Its bytes, or None.
    reason
        Where it comes from, or why there is none.
    orientation
        How it must be turned.
    space
        The colour space its tags state.
    """

    blob: bytes | None
    reason: str
    orientation: int = 1
    space: str = SRGB


@dataclass(frozen=True)
class Rendering:
    """A decoded camera rendering, or why there is none."""

    pixels: NDArray[np.float32] | None
    reason: str


def render_source(
    source: Source, max_edge: int | None, reduce: Reduce = reduced_codes, *, linear: bool = False
) -> Rendering:
    """Decode a source, upright; to encoded sRGB, or to the light that it stands for."""
    if source.blob is None:
        return Rendering(None, source.reason)
    try:
        pixels, space = decode_jpeg(
            source.blob, source.space, max_edge=max_edge, reduce=reduce, linear=linear
        )
    except JpegError as error:
        return Rendering(None, f"{source.reason} cannot be read: {error}")
    reason = source.reason if space == SRGB else f"{source.reason}, converted from {space}"
    return Rendering(np.ascontiguousarray(upright(pixels, source.orientation)), reason)


def embedded_source(preview: Preview, file_tags: Tags, directories: Directories) -> Source:
    """The JPEG embedded in a raw file, if it is one and not tiny.

    Parameters
    ----------
    preview
        What the decoder found.
    file_tags, directories
        What the raw file states.
    """
    if preview.blob is None:
        return Source(None, preview.problem)
    try:
        size = jpeg_size(preview.blob)
    except JpegError as error:
        return Source(None, f"the raw's JPEG cannot be read: {error}")
    if max(size.width, size.height) < MIN_EDGE:
        return Source(None, f"the raw's JPEG is tiny ({size.width} × {size.height}), no camera rendering")
    space = stated_space(directories.preview_space(size.width, size.height), preview.tags, file_tags)
    orientation = embedded_orientation(flip_to_orientation(preview.sizes["flip"]), size, preview.sizes)
    return Source(preview.blob, "the JPEG embedded in the raw", orientation, space)


def embedded_orientation(orientation: int, size: JpegSize, sizes: Mapping[str, Any]) -> int:
    """How an embedded JPEG must be turned: like the raw, unless it lies across the raw and so is upright.

    Examples
    --------
    >>> sensor = {"width": 6000, "height": 4000}
    >>> [embedded_orientation(6, size, sensor) for size in (JpegSize(1500, 1000), JpegSize(1000, 1500))]
    [6, 1]
    """
    across = (size.width - size.height) * (sizes["width"] - sizes["height"]) < 0
    return 1 if orientation in _TURNS and across else orientation


def beside_source(path: Path, file_tags: Tags, upright_size: JpegSize | None) -> Source:
    """The JPEG of the same exposure beside a raw file: same stem, and nothing in it that speaks against it.

    Parameters
    ----------
    path
        The raw file.
    file_tags
        Its EXIF.
    upright_size
        Size of the raw's picture when upright, if known.
    """
    reasons = []
    for found in companions(path):
        source = _companion_source(found, file_tags, upright_size)
        if source.blob is not None:
            return source
        reasons.append(source.reason)
    return Source(None, "; ".join(reasons) or "no JPEG of the same name lies beside it")


def _companion_source(found: Path, file_tags: Tags, upright_size: JpegSize | None) -> Source:
    try:
        blob = found.read_bytes()
        size = jpeg_size(blob)
    except (OSError, JpegError) as error:
        return Source(None, f"{found.name} beside it cannot be read: {error}")
    own = exif.exif_of_bytes(blob)
    orientation = exif_orientation(int(exif.number(own, "Image Orientation") or 1)) or 1
    if orientation in _TURNS:
        size = JpegSize(size.height, size.width)
    reason = against(own, file_tags, size, upright_size)
    if reason:
        return Source(None, f"{found.name} beside it is not taken: {reason}")
    return Source(blob, f"{found.name} beside the raw", orientation, stated_space(None, own))


def upright_size(sizes: Mapping[str, Any]) -> JpegSize:
    """Size of the raw's picture when upright, from LibRaw's sizes."""
    width, height = sizes["width"], sizes["height"]
    turned = flip_to_orientation(sizes["flip"]) in _TURNS
    return JpegSize(height, width) if turned else JpegSize(width, height)
