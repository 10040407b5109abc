"""Photographs to measure on, and edits of known size to put into them.

The photographs are those scikit-image ships (public domain or CC; see skimage.data), beside what the camera
made of the frames of the demo shoot. The edits are applied
to linear sRGB by their textbook definitions, clipped and rounded to 8 bits, as a file would be.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

import demo_frames
from driftline.colorimetry.adaptation import adaptation_matrix
from driftline.colorimetry.encodings import srgb_decode, srgb_encode
from driftline.colorimetry.oklab import oklab_to_srgb, srgb_to_oklab
from driftline.colorimetry.primaries import D65_XY, SRGB_LUMINANCE, SRGB_TO_XYZ, xy_to_XYZ
from driftline.colorimetry.temperature import shifted_white_xy, xy_to_cct_duv
from driftline.pipeline import open_frame

Picture = NDArray[Any]
Edit = Callable[[Picture], Picture]

NAMES = ("astronaut", "coffee", "chelsea", "rocket", "motorcycle")
BLACK_AND_WHITE = frozenset(
    Path(frame["file"]).stem for frame in demo_frames.registry() if frame["truth"]["style"]["mono"]
)


@cache
def photograph(name: str) -> Picture:
    """One photograph, uint8 (h, w, 3), not to be written to."""
    from skimage import data

    picture = data.stereo_motorcycle()[0] if name == "motorcycle" else getattr(data, name)()
    picture.flags.writeable = False
    return picture


@cache
def demo_picture(path: Path) -> Picture:
    """What the camera made of a frame of the demo shoot, uint8, not to be written to."""
    rendering = open_frame(path).camera_rendering()
    assert rendering is not None
    picture = to_uint8(rendering)
    picture.flags.writeable = False
    return picture


def pictures() -> dict[str, Picture]:
    """The photographs, and the colour renderings of the demo shoot, by name."""
    made = {path.stem: demo_picture(path) for path in demo_frames.paths() if path.stem not in BLACK_AND_WHITE}
    return {name: photograph(name) for name in NAMES} | made


def edited(picture: Picture, edit: Edit) -> Picture:
    """The picture with an edit in linear light, clipped and rounded to uint8."""
    linear = edit(srgb_decode(picture.astype(np.float64) / 255))
    return to_uint8(srgb_encode(np.clip(linear, 0, 1)))


def to_uint8(encoded: Picture) -> Picture:
    """Encoded 0 … 1 rounded to uint8."""
    return np.rint(np.clip(encoded, 0, 1) * 255).astype(np.uint8)


def exposure(ev: float) -> Edit:
    """Scale linear light by 2^ev."""
    return lambda rgb: rgb * 2**ev


def contrast(slope: float) -> Edit:
    """A slope in log luminance about middle grey, RGB scaled by the same factor."""

    def apply(rgb: Picture) -> Picture:
        Y = np.maximum(rgb @ SRGB_LUMINANCE, 1e-9)[..., None]
        return rgb * (Y / 0.18) ** (slope - 1)

    return apply


def chroma(scale: float, turn: float = 0.0) -> Edit:
    """Scale Oklab chroma and turn its hue by degrees."""
    c = scale * np.exp(1j * np.radians(turn))

    def apply(rgb: Picture) -> Picture:
        lab = srgb_to_oklab(rgb)
        moved = (lab[..., 1] + 1j * lab[..., 2]) * c
        return oklab_to_srgb(np.stack([lab[..., 0], moved.real, moved.imag], axis=-1))

    return apply


def white(mired: float, duv: float = 0.0) -> Edit:
    """Bradford adaptation from D65 to a white so many mired warmer and so much greener."""
    matrix = white_matrix(mired, duv)
    return lambda rgb: rgb @ matrix.T


def white_matrix(mired: float, duv: float = 0.0) -> Picture:
    """The same as a matrix in linear sRGB."""
    kelvin, duv_0 = xy_to_cct_duv(D65_XY)
    to = xy_to_XYZ(shifted_white_xy(kelvin, duv_0, shift_mired=mired, shift_duv=duv))
    return np.linalg.solve(SRGB_TO_XYZ, adaptation_matrix(xy_to_XYZ(D65_XY), to) @ SRGB_TO_XYZ)


def split(size: float) -> Edit:
    """Blue into the dark tones, yellow into the light ones: Oklab shifts of at most ``size``."""

    def apply(rgb: Picture) -> Picture:
        lab = srgb_to_oklab(rgb)
        high = np.clip((lab[..., :1] - 0.25) / 0.5, 0, 1)
        high = high * high * (3 - 2 * high)
        cold, warm = np.radians(250.0), np.radians(80.0)
        shift = size * ((1 - high) * [0, np.cos(cold), np.sin(cold)] + high * [0, np.cos(warm), np.sin(warm)])
        return oklab_to_srgb(lab + shift)

    return apply


def jpeg(picture: Picture, quality: int, subsampling: str) -> Picture:
    """Through a JPEG file and back."""
    file = io.BytesIO()
    Image.fromarray(picture).save(file, "JPEG", quality=quality, subsampling=subsampling)
    return np.asarray(Image.open(file))
