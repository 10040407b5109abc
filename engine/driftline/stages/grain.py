"""Grain by RMS granularity, as film data sheets state it (step 9)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.primaries import SRGB_LUMINANCE

FILM_LONG_EDGE_UM = 36_000.0
APERTURE_UM = 48.0
"""RMS granularity is 1000 x the standard deviation of density seen through a 48 µm circular aperture, on a
patch of density 1.0 (film data sheets; definition from memory)."""


def grain(
    rgb: NDArray[np.float32], *, rms_granularity: float = 0.0, pitch_um: float = 8.0, seed: int = 0
) -> NDArray[np.float32]:
    """Vary the density of a linear picture as developed silver or dye clouds do.

    Parameters
    ----------
    rgb
        (H, W, 3) linear light, 0 … 1; its longer side stands for 36 mm of film.
    rms_granularity
        Typical 8 (fine) to 20 (coarse).
    pitch_um
        Size of a clump on the 36 x 24 mm frame.
    seed
        The same seed gives the same grain; the frame's fingerprint is used.

    Returns
    -------
    NDArray
        (H, W, 3) float32 in [0, 1]. Granularity grows with the root of density (Selwyn), so clear whites
        stay clean. Where one pixel is wider than the aperture, the pixel's own area averages the grain, as
        it does when a small print is made.
    """
    if not rms_granularity:
        return rgb
    height, width = rgb.shape[:2]
    pixel_um = FILM_LONG_EDGE_UM / max(height, width)
    field = density_field(height, width, pixel_um=pixel_um, pitch_um=pitch_um, seed=seed)
    luminance = np.maximum(rgb @ SRGB_LUMINANCE.astype(np.float32), np.float32(1e-3))
    density = -np.log10(luminance)
    swing = field * np.float32(rms_granularity / 1000) * np.sqrt(np.clip(density, 0, 3))
    return np.asarray(np.clip(rgb * np.power(10.0, -swing)[..., None], 0, 1), dtype=np.float32)


def density_field(
    height: int, width: int, *, pixel_um: float, pitch_um: float, seed: int
) -> NDArray[np.float32]:
    """A Gaussian field whose mean over the 48 µm aperture has standard deviation 1.

    White noise blurred to the clump size and averaged over each pixel. The variance through an aperture of
    area A is ``S / A`` for clumps much smaller than it (Selwyn 1935); the blur's own effect is computed from
    the transfer functions of both.
    """
    from scipy import ndimage  # noqa: PLC0415  loaded where it is needed

    noise = np.random.Generator(np.random.Philox(seed)).standard_normal((height, width), dtype=np.float32)
    sigma_px = pitch_um / 2 / pixel_um
    blurred = ndimage.gaussian_filter(noise, sigma_px, mode="wrap", truncate=4.0) if sigma_px > 0.2 else noise
    # White noise of one value a pixel: power density of the pixel's area (µm²) at low frequencies.
    through_aperture = _aperture_share(pitch_um / 2) * pixel_um**2 / (np.pi * APERTURE_UM**2 / 4)
    return np.asarray(blurred / np.sqrt(through_aperture), dtype=np.float32)


def _aperture_share(sigma_um: float) -> float:
    """How much of a white field's variance through the aperture is left when it is blurred first."""
    radius = APERTURE_UM / 2
    f = np.linspace(1e-6, 12 / APERTURE_UM, 4000)
    x = 2 * np.pi * radius * f
    from scipy.special import j1  # noqa: PLC0415  loaded where it is needed

    aperture = (2 * j1(x) / x) ** 2 * f
    blur = np.exp(-((2 * np.pi * sigma_um * f) ** 2))
    return float((aperture * blur).sum() / aperture.sum())
