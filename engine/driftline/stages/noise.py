"""Colour noise: how strong it is, and taking it out before any curve.

The noise of a sensor is photon noise, whose variance grows with the light, plus read noise. In the square
root of the light it is nearly the same everywhere, so there one threshold serves shadows and highlights, and
in units of the frame's own noise one setting means the same at every sensitivity.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from driftline.arrays import CameraRGB, Mosaic

Pixels = NDArray[np.float32]

LEVELS = 5
BAND_NOISE = (0.55, 0.40, 0.26, 0.14, 0.07)
"""Standard deviation of a colour difference in each band, for demosaicked noise of unit variance a site."""

LUMINANCE = np.array([0.25, 0.5, 0.25], dtype=np.float32)
"""What is left alone: this sum of linear camera channels comes back unchanged."""


@dataclass(frozen=True)
class NoiseModel:
    """Variance of a photosite's noise, ``shot * value + read**2``, per colour, in balanced linear units."""

    shot: tuple[float, float, float]
    read: tuple[float, float, float]

    def sigma(self, values: NDArray[Any]) -> NDArray[np.float64]:
        """Standard deviation of the noise at (..., 3) values."""
        variance = np.asarray(self.shot) * np.maximum(values, 0) + np.square(self.read)
        return np.asarray(np.sqrt(variance))


def reduce_chroma_noise(rgb: CameraRGB, *, strength: float, noise: NoiseModel) -> CameraRGB:
    """Take out colour noise and leave luminance, with its grain, as it is.

    Colour differences are taken apart into bands of detail; in each, what does not stand out from the
    frame's own noise is taken out (a Wiener factor from the local energy, on both differences together).

    Parameters
    ----------
    rgb
        (H, W, 3) float32, linear balanced camera RGB after demosaicking.
    strength
        0 … 1, the share of the colour noise taken out; 0 is the identity.
    noise
        The frame's noise.

    Returns
    -------
    CameraRGB
        (H, W, 3) float32; R/4 + G/2 + B/4 is unchanged.
    """
    if strength == 0:
        return rgb
    shot, floor = _common(noise)
    root = np.sqrt(np.maximum(rgb, 0) + floor)
    unit = np.sqrt(shot) / 2  # standard deviation of the noise in the square root
    change = np.stack([_noise_of(root[..., c] - root[..., 1], unit) for c in (0, 2)], axis=-1)
    return _without(rgb, root, change * np.float32(strength))


def estimate_noise(mosaic: Mosaic, pattern: NDArray[Any]) -> NoiseModel:
    """Estimate the noise of a frame from the frame itself.

    Parameters
    ----------
    mosaic
        (H, W) float32, linear, balanced.
    pattern
        (p, q) of 0 red, 1 green, 2 blue.

    Returns
    -------
    NoiseModel
        From the flattest tenth of small patches at each brightness, where texture counts least.
    """
    fits = [_line(*_patches(mosaic, np.asarray(pattern), colour)) for colour in range(3)]
    return NoiseModel(
        shot=(fits[0][0], fits[1][0], fits[2][0]),
        read=(fits[0][1], fits[1][1], fits[2][1]),
    )


def _common(noise: NoiseModel) -> tuple[np.float32, np.float32]:
    """One gain and one floor for the square root; colours differ by less than the encoding matters."""
    shot = max(float(np.mean(noise.shot)), 1e-8)
    floor = float(np.mean(np.square(noise.read))) / shot
    return np.float32(shot), np.float32(min(max(floor, 1e-4), 0.1))


def _noise_of(difference: Pixels, unit: np.float32) -> Pixels:
    """The part of a colour difference that is taken for noise."""
    noise = np.zeros_like(difference)
    rest = difference
    for level in range(LEVELS):
        smooth = _spread(rest, 2**level)
        band = rest - smooth
        energy = _spread(band * band, 2 ** (level + 1))
        power = (2 * BAND_NOISE[level] * unit) ** 2
        noise += band * np.minimum(power / np.maximum(energy, 1e-20), 1)
        rest = smooth
    return noise


def _spread(plane: Pixels, step: int) -> Pixels:
    """The cubic B-spline 1 4 6 4 1, its taps ``step`` apart."""
    taps = np.zeros(4 * step + 1)
    taps[::step] = np.array([1, 4, 6, 4, 1]) / 16
    across = ndimage.correlate1d(plane, taps, axis=1, mode="mirror")
    return np.asarray(ndimage.correlate1d(across, taps, axis=0, mode="mirror"), dtype=np.float32)


def _without(rgb: CameraRGB, root: Pixels, change: Pixels) -> CameraRGB:
    """Take ``change`` from the square roots of red and blue; put luminance back."""
    moved = np.zeros_like(rgb)
    for at, channel in ((0, 0), (1, 2)):
        new = root[..., channel] - change[..., at]
        moved[..., channel] = new * np.abs(new) - root[..., channel] ** 2
    moved -= (moved @ LUMINANCE)[..., None]
    return np.asarray(rgb + moved, dtype=np.float32)


def _patches(
    mosaic: Mosaic, pattern: NDArray[Any], colour: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Mean and noise variance of small patches of one colour, from second differences between its sites."""
    means, variances = [], []
    p, q = pattern.shape
    top = float(mosaic.max())
    for y, x in np.argwhere(pattern == colour):
        plane = mosaic[y::p, x::q]
        h, w = plane.shape[0] // 8 * 8, plane.shape[1] // 8 * 8
        if min(h, w) < 8:
            continue
        plane = plane[:h, :w]
        diagonal = np.zeros_like(plane)
        diagonal[:-1, :-1] = (plane[:-1, :-1] - plane[1:, :-1] - plane[:-1, 1:] + plane[1:, 1:]) / 2
        blocks = plane.reshape(h // 8, 8, w // 8, 8)
        squares = np.square(diagonal).reshape(h // 8, 8, w // 8, 8)[:, :-1, :, :-1]
        whole = (blocks.max(axis=(1, 3)) < 0.95 * top).ravel()
        means.append(blocks.mean(axis=(1, 3)).ravel()[whole])
        variances.append(squares.mean(axis=(1, 3)).ravel()[whole])
    if not means:
        return np.zeros(0), np.zeros(0)
    return np.concatenate(means).astype(float), np.concatenate(variances).astype(float)


LOW_SHARE = 0.1
LOW_RATIO = 0.72
"""A tenth of patches of 49 second differences of pure noise measure less than this share of its variance."""


def _line(means: NDArray[np.float64], variances: NDArray[np.float64]) -> tuple[float, float]:
    """Shot and read noise through the lower envelope of variance against mean."""
    if means.size < 8:
        return 1e-4, 2e-3
    order = np.argsort(means)
    groups = np.array_split(order, int(np.clip(means.size // 40, 1, 40)))
    x = np.array([means[g].mean() for g in groups])
    y = np.array([np.quantile(variances[g], LOW_SHARE) for g in groups]) / LOW_RATIO
    # Relative errors count: an absolute fit would see bright patches only. Texture only ever adds variance.
    weight = 1 / np.maximum(y, 1e-9)
    for _ in range(10):
        design = np.stack([np.maximum(x, 0), np.ones_like(x)], axis=1) * weight[:, None]
        shot, square = np.maximum(np.linalg.lstsq(design, y * weight, rcond=None)[0], [1e-8, 1e-9])
        model = shot * np.maximum(x, 0) + square
        weight = np.where(y > 1.3 * model, 0.2, 1) / model
    return float(shot), float(np.sqrt(square))
