"""The camera's own rendering: mosaic in, JPEG out. Shares no code with the product, on purpose.

Order, as cameras do: demosaic, white balance, lens correction, camera RGB → sRGB, tone, colour preference,
noise reduction, sharpening, resize, 4:2:2 JPEG.
"""

from __future__ import annotations

import io
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from scipy.ndimage import convolve, gaussian_filter

from making import lens

Array = NDArray[np.float64]
_XYZ_TO_SRGB = np.array(  # IEC 61966-2-1
    [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]]
)
_LUMA = np.array([0.299, 0.587, 0.114])  # ITU-T T.871


@dataclass(frozen=True)
class Style:
    """What a picture setting does; the truth that tests can use.

    Tone: linear x → ceiling · xⁿ / (xⁿ + kⁿ) after ``lift_ev``, k such that 0.18 stays 0.18. Colour: gains
    and turns of the Cb, Cr plane that vary with hue, as mean + swing · cos(hue - at). ``mono`` are weights
    of linear sRGB.
    """

    name: str
    lift_ev: float = 0.5
    exponent: float = 1.28
    ceiling: float = 1.06
    chroma: tuple[float, float, float] = (1.10, 0.06, 250.0)
    turn: tuple[float, float, float] = (0.0, 2.5, 90.0)
    smoothing: float = 1.0
    sharpening: tuple[float, float] = (0.55, 0.9)
    mono: tuple[float, float, float] | None = None
    quality: int = 91


EVERYDAY = Style("Everyday")
RICH = Style("Rich", exponent=1.38, chroma=(1.22, 0.08, 250.0), turn=(0.5, 3.5, 90.0))
MONOCHROME = Style("Monochrome", exponent=1.40, mono=(0.40, 0.48, 0.12))
STYLES = {style.name: style for style in (EVERYDAY, RICH, MONOCHROME)}


@dataclass(frozen=True)
class Readout:
    """What the renderer is given: linear signal (H, W) with 1 at saturation, and facts about it."""

    signal: Array
    sites: NDArray[np.uint8]
    neutral: Array
    xyz_to_camera: Array
    noise: tuple[float, float]
    distortion: float
    falloff_ev: float


def render(readout: Readout, style: Style, *, scale: float = 1.0) -> bytes:
    """JPEG bytes of the rendering, as the sensor sees it (unturned), ``scale`` times the raw's size."""
    balanced = np.clip(demosaic(readout.signal, readout.sites) / readout.neutral, 0, 1)
    corrected = _correct_lens(balanced, readout)
    linear = np.clip(corrected @ _to_srgb(readout).T, 0, None)
    if style.mono is not None:
        linear = np.repeat((linear @ np.array(style.mono))[..., None], 3, axis=2)
    encoded = _encode(_tone(linear, style))
    if style.mono is None:
        encoded = _prefer(encoded, style)
    smooth = _reduce_noise(encoded, readout, style)
    crisp = _sharpen(smooth, style)
    return _jpeg(crisp, style, scale)


def demosaic(signal: Array, sites: NDArray[np.uint8]) -> Array:
    """Green first (directional on 2 × 2 patterns, smooth on any other), then colour differences."""
    two_by_two = np.array_equal(sites[:-2, :-2], sites[2:, 2:]) and np.array_equal(sites[:-2], sites[2:])
    green = _directional_green(signal, sites) if two_by_two else _spread(signal, sites == 1, 0.8)
    width = 0.75 if two_by_two else 1.3
    planes = [green + _spread(signal - green, sites == c, width) for c in (0, 2)]
    return np.stack((planes[0], green, planes[1]), axis=-1)


def _spread(values: Array, known: NDArray[np.bool_], width: float) -> Array:
    """Normalised convolution with a Gaussian: known values spread to their neighbours."""
    mask = known.astype(np.float64)
    spread = gaussian_filter(values * mask, width, truncate=5) / gaussian_filter(mask, width, truncate=5)
    return np.where(known, values, spread)


def _directional_green(signal: Array, sites: NDArray[np.uint8]) -> Array:
    """Green along the direction that changes less (after Hamilton and Adams 1997)."""
    estimates, roughness = [], []
    for axis in (0, 1):
        line = np.array([-0.25, 0.5, 0.5, 0.5, -0.25])
        slope = np.array([-1.0, 0.0, 1.0])
        bend = np.array([-1.0, 0.0, 2.0, 0.0, -1.0])
        turn = (slice(None), None) if axis == 0 else (None, slice(None))
        estimates.append(convolve(signal, line[turn]))
        change = np.abs(convolve(signal, slope[turn])) + np.abs(convolve(signal, bend[turn]))
        roughness.append(gaussian_filter(change, 1.0) + 1e-4)
    share = roughness[1] ** 2 / (roughness[0] ** 2 + roughness[1] ** 2)
    green = share * estimates[0] + (1 - share) * estimates[1]
    return np.asarray(np.where(sites == 1, signal, np.clip(green, 0, None)))


def _correct_lens(picture: Array, readout: Readout) -> Array:
    """Undo distortion, and half the falloff."""
    _, _, radius = lens._radii(picture.shape)
    lifted = picture * 2 ** (-0.5 * readout.falloff_ev * radius**2)[..., None]
    if not readout.distortion:
        return np.asarray(lifted)
    return lens.scaled(lifted, 1 + readout.distortion * radius**2, order=1)


def _to_srgb(readout: Readout) -> Array:
    """Balanced camera RGB → linear sRGB: the inverse of the colour matrix, rows scaled to keep white."""
    to_camera = readout.xyz_to_camera @ np.linalg.inv(_XYZ_TO_SRGB)
    to_camera = to_camera / to_camera.sum(axis=1, keepdims=True)
    return np.linalg.inv(to_camera)


def _tone(linear: Array, style: Style) -> Array:
    """A saturating power curve through middle grey."""
    n = style.exponent
    knee = 0.18**n * (style.ceiling / 0.18 - 1)
    lifted = (linear * 2**style.lift_ev) ** n
    return np.asarray(np.clip(style.ceiling * lifted / (lifted + knee), 0, 1))


def _encode(linear: Array) -> Array:
    """IEC 61966-2-1."""
    return np.where(
        linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055
    )


def _prefer(encoded: Array, style: Style) -> Array:
    """The colour preference, on the Cb, Cr plane at constant luma."""
    luma = encoded @ _LUMA
    cb, cr = (encoded[..., 2] - luma) / 1.772, (encoded[..., 0] - luma) / 1.402
    hue = np.degrees(np.arctan2(cr, cb))
    gain = style.chroma[0] + style.chroma[1] * np.cos(np.radians(hue - style.chroma[2]))
    turn = np.radians(style.turn[0] + style.turn[1] * np.cos(np.radians(hue - style.turn[2])))
    new_cb = gain * (cb * np.cos(turn) - cr * np.sin(turn))
    new_cr = gain * (cb * np.sin(turn) + cr * np.cos(turn))
    red, blue = luma + 1.402 * new_cr, luma + 1.772 * new_cb
    green = (luma - _LUMA[0] * red - _LUMA[2] * blue) / _LUMA[1]
    return np.asarray(np.clip(np.stack((red, green, blue), axis=-1), 0, 1))


def _reduce_noise(encoded: Array, readout: Readout, style: Style) -> Array:
    """Chroma blurred with the noise; luma pulled to its surroundings where it differs by noise only."""
    scale, offset = readout.noise
    level = float(np.sqrt(scale * 0.05 + offset)) * style.smoothing * 4  # about middle grey, encoded
    luma = encoded @ _LUMA
    difference = encoded - luma[..., None]
    radius = min(0.6 + 60 * level, 3.0)
    calm = np.stack([gaussian_filter(layer, radius) for layer in np.moveaxis(difference, -1, 0)], axis=-1)
    around = gaussian_filter(luma, 1.1)
    detail = luma - around
    kept = detail**2 / (detail**2 + level**2 + 1e-12)
    return np.asarray(np.clip((around + detail * kept)[..., None] + calm, 0, 1))


def _sharpen(encoded: Array, style: Style) -> Array:
    """Unsharp mask on luma: amount, radius."""
    amount, radius = style.sharpening
    luma = encoded @ _LUMA
    edge = np.clip(amount * (luma - gaussian_filter(luma, radius)), -0.08, 0.08)
    return np.asarray(np.clip(encoded + edge[..., None], 0, 1))


def _jpeg(encoded: Array, style: Style, scale: float) -> bytes:
    """Baseline JPEG, chroma 4:2:2 (Pillow's subsampling 1)."""
    picture = Image.fromarray(np.rint(encoded * 255).astype(np.uint8))
    if scale != 1:
        size = (round(picture.width * scale), round(picture.height * scale))
        picture = picture.resize(size, Image.Resampling.BOX if scale == 0.5 else Image.Resampling.LANCZOS)
    stream = io.BytesIO()
    picture.save(stream, "JPEG", quality=style.quality, subsampling=1)
    return stream.getvalue()
