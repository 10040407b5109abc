"""Photographs of known truth, seen through colour filter patterns, and the error of an interpolation.

The truth is mosaicked in linear light; PSNR is taken over the three channels in sRGB code values, a border
of 10 pixels left out. :mod:`bench_demosaic` prints the tables.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.encodings import srgb_decode, srgb_encode

PHOTOGRAPHS = ("astronaut", "coffee", "chelsea", "rocket", "stereo_motorcycle")
OTHERS = ("immunohistochemistry", "retina", "hubble_deep_field")
"""Held out: no constant of the methods was looked for on these."""
ELECTRONS, READ_NOISE = 600.0, 0.003
BORDER = 10

Picture = NDArray[np.float32]


def photographs(names: tuple[str, ...] = PHOTOGRAPHS) -> dict[str, Picture]:
    """Linear RGB of pictures that scikit-image ships, side at most 760 pixels."""
    from skimage import data

    pictures = {}
    for name in names:
        loaded = getattr(data, name)()
        coded = (loaded[0] if isinstance(loaded, tuple) else loaded)[:760, :760, :3]
        pictures[name] = srgb_decode(coded / 255.0).astype(np.float32)
    return pictures


def with_noise(
    mosaic: Picture, electrons: float = ELECTRONS, read: float = READ_NOISE, seed: int = 1
) -> Picture:
    """Photon noise of ``electrons`` at full scale and Gaussian read noise."""
    rng = np.random.default_rng(seed)
    photons = rng.poisson(np.maximum(mosaic, 0).astype(np.float64) * electrons) / electrons
    return (photons + rng.normal(0, read, mosaic.shape)).astype(np.float32)


def psnr(linear: Picture, truth: Picture) -> float:
    """Peak signal-to-noise ratio in dB, in sRGB code values."""
    shown = srgb_encode(np.clip(linear, 0, 1).astype(np.float64))
    error = (shown - srgb_encode(truth.astype(np.float64)))[BORDER:-BORDER, BORDER:-BORDER]
    return float(-10 * np.log10(np.mean(np.square(error))))
