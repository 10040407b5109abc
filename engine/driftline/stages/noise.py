"""Colour noise: how strong it is, and taking it out before any curve.

The noise of a sensor is photon noise, whose variance grows with the light, plus read noise. Everything here
is measured in units of the frame's own noise, so that one setting means the same at every sensitivity.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB
from driftline.stages.noise_estimate import NoiseModel, estimate_noise
from driftline.stages.noise_stated import stated_noise
from driftline.stages.pyramid import doubled, halved, smooth_wider

Pixels = NDArray[np.float32]

__all__ = ["NoiseModel", "estimate_noise", "reduce_chroma_noise", "stated_noise"]

BAND_NOISE = (0.046, 0.084, 0.067, 0.030, 0.010)
"""Variance of a colour's deviation from luminance in each band, from fine to coarse, where noise of unit
variance was demosaicked: measured on flat 2 × 2 mosaics; on 6 × 6 ones it is up to a fifth less."""

PLAIN = 1.5
"""What has less than so many times the energy of noise is taken for noise."""

LUMINANCE = np.array([0.25, 0.5, 0.25], dtype=np.float32)
"""What is left alone: this sum of linear camera channels comes back unchanged."""


def reduce_chroma_noise(rgb: CameraRGB, *, strength: float, noise: NoiseModel) -> CameraRGB:
    """Take out colour noise and leave luminance, with its grain, as it is.

    Red and blue are taken apart into bands of detail. In each, they are expected to vary as luminance does,
    times their share in the smoother picture below; of what they deviate from that, as much is taken out as
    does not stand out from the frame's own noise (a Wiener factor from the energy of both around).

    Parameters
    ----------
    rgb
        (H, W, 3) float32, linear balanced camera RGB after demosaicking.
    strength
        0 … 1, the share of what is taken for noise that is taken out; 0 is the identity.
    noise
        The frame's noise.

    Returns
    -------
    CameraRGB
        (H, W, 3) float32; R/4 + G/2 + B/4 is unchanged, and so are the means of wide areas.
    """
    if strength == 0:
        return rgb
    levels = [split_luminance(rgb)]
    for _ in BAND_NOISE:
        levels.append(halved(levels[-1]))
    others = levels[-1][..., 1:]
    for band in range(len(BAND_NOISE) - 1, -1, -1):
        others = _finer(levels[band], levels[band + 1], others, noise, BAND_NOISE[band])
    part = np.float32(strength)
    red, blue = (rgb[..., c] + part * (others[..., at] - rgb[..., c]) for at, c in ((0, 0), (1, 2)))
    green = 2 * levels[0][..., 0] - np.float32(0.5) * (red + blue)
    return np.stack([red, green, blue], axis=-1)


def split_luminance(rgb: CameraRGB) -> Pixels:
    """(H, W, 3): luminance, red and blue."""
    quarter, half = LUMINANCE[0], LUMINANCE[1]
    luminance = quarter * (rgb[..., 0] + rgb[..., 2]) + half * rgb[..., 1]
    return np.stack([luminance, rgb[..., 0], rgb[..., 2]], axis=-1)


def _finer(fine: Pixels, coarse: Pixels, others: Pixels, noise: NoiseModel, band_noise: float) -> Pixels:
    """Quiet red and blue (h, w, 2) of a band, from those of the coarser one, ``others``."""
    below, quiet = doubled(coarse, fine.shape), doubled(others, fine.shape)
    variances = _variances(below[..., 0], quiet, noise)
    share = _shares(below[..., 0], quiet, variances[1])
    detail = fine[..., :1] - below[..., :1]
    deviation = (fine[..., 1:] - below[..., 1:]) - share * detail
    unit = _deviation_variances(share, variances) * np.float32(2 * band_noise)
    energy = deviation[..., 0] * deviation[..., 0] / unit[0] + deviation[..., 1] * deviation[..., 1] / unit[1]
    around = smooth_wider(halved(energy[..., None]))
    kept = np.maximum(1 - np.float32(PLAIN) / np.maximum(around, np.float32(1e-9)), 0)
    return quiet + share * detail + doubled(kept, fine.shape) * deviation


def _variances(luminance: Pixels, quiet: Pixels, noise: NoiseModel) -> Pixels:
    """(3, h, w) variance of the noise of each colour, from smooth values."""
    red, blue = np.maximum(quiet[..., 0], 0), np.maximum(quiet[..., 1], 0)
    green = np.maximum(2 * np.maximum(luminance, 0) - np.float32(0.5) * (red + blue), 0)
    shot = np.asarray(noise.shot, dtype=np.float32)
    read = np.square(np.asarray(noise.read)).astype(np.float32)
    planes = [shot[c] * level + read[c] for c, level in enumerate((red, green, blue))]
    return np.asarray(np.maximum(np.stack(planes), np.float32(1e-12)), dtype=np.float32)


def _shares(luminance: Pixels, quiet: Pixels, green_variance: Pixels) -> Pixels:
    """(h, w, 2) red and blue over luminance; drawn to 1 where there is less light than noise."""
    floor = np.sqrt(green_variance)
    whole = np.maximum(luminance, 0) + floor
    return np.stack([(np.maximum(quiet[..., at], 0) + floor) / whole for at in (0, 1)], axis=-1)


def _deviation_variances(share: Pixels, variances: Pixels) -> Pixels:
    """(2, h, w) variance of red's, and blue's, deviation from its share in luminance; colours independent."""
    half_green = variances[1] * np.float32(0.25)
    planes = []
    for at, own, other in ((0, 0, 2), (1, 2, 0)):
        part = share[..., at]
        left = 1 - part * np.float32(0.25)
        rest = half_green + variances[other] * np.float32(0.0625)
        planes.append(left * left * variances[own] + part * part * rest)
    return np.stack(planes)
