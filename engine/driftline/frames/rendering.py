"""The camera rendering: the JPEG that the camera made of the same exposure."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import EncodedRGB
from driftline.frames.orientation import upright

MIN_EDGE = 320


@dataclass(frozen=True)
class Rendering:
    """A camera rendering, or why there is none.

    Attributes
    ----------
    pixels
        float32 (h, w, 3) encoded sRGB, upright; None if there is none.
    reason
        Where it comes from, or why there is none.
    """

    pixels: EncodedRGB | None
    reason: str


def decode_jpeg(blob: bytes, *, max_edge: int | None = None) -> NDArray[np.float32]:
    """Decode a JPEG to encoded sRGB as stored, float32 (h, w, 3)."""
    from PIL import Image  # noqa: PLC0415 — only where a picture is read

    with Image.open(io.BytesIO(blob), formats=["JPEG"]) as picture:
        if max_edge is not None:
            picture.draft("RGB", (max_edge, max_edge))
        rgb = picture.convert("RGB")
        if max_edge is not None and max(rgb.size) > max_edge:
            rgb.thumbnail((max_edge, max_edge), Image.Resampling.BOX)
        return np.asarray(rgb, dtype=np.float32) / np.float32(255)


def embedded_rendering(preview: Any, kind: str, orientation: int, max_edge: int | None) -> Rendering:
    """Make a rendering of an embedded preview."""
    if kind != "jpeg":
        return Rendering(
            None,
            f"the embedded preview is a bitmap of {preview.shape[1]} × {preview.shape[0]}, not a camera rendering",
        )
    try:
        pixels = decode_jpeg(preview.tobytes(), max_edge=max_edge)
    except (OSError, ValueError, SyntaxError) as error:
        return Rendering(None, f"the embedded JPEG cannot be read: {error}")
    return Rendering(np.ascontiguousarray(upright(pixels, orientation)), "the JPEG embedded in the raw file")
