"""Chroma and hue bands in Oklab (step 7)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import Oklab

NEUTRAL_CHROMA = 0.04
"""Oklab chroma up to which a band's lightness change fades in, so that greys are left alone."""


class HueBand(NamedTuple):
    """One stretch of the hue circle and what is done to it."""

    hue: float
    width: float
    turn: float = 0.0
    scale: float = 1.0
    lightness: float = 0.0


class Response(NamedTuple):
    """How a camera turns and scales colours by hue: a constant and cosine-sine pairs of its harmonics."""

    turn: tuple[float, ...]
    log2_scale: tuple[float, ...]


def chroma(
    lab: Oklab,
    *,
    scale: float = 1.0,
    bands: Iterable[HueBand] = (),
    response: Response | None = None,
) -> Oklab:
    """Scale chroma as a whole, and turn, scale and lighten bands of hue.

    Parameters
    ----------
    lab
        (..., 3) Oklab.
    scale
        Factor on chroma; 1 leaves it, 0 is grey.
    bands
        Each acts with the weight ``cos²(90° d / width)`` at hue distance d < width. Where bands overlap
        their turns and lightness add and their scales multiply, in any order.
    response
        Of the camera, before the rest: bands stand where the camera's own rendering puts their colours.

    Returns
    -------
    Oklab
        (..., 3) float32. Lightness is left alone but for a band's own ``lightness``.

    Examples
    --------
    >>> chroma(np.float32([[0.5, 0.1, 0.0]]), scale=1.5).round(3).tolist()
    [[0.5, 0.15000000596046448, 0.0]]
    """
    bands = tuple(bands)
    if scale == 1 and not bands and response is None:
        return lab
    L, a, b = np.moveaxis(lab, -1, 0)
    if not bands and response is None:
        return np.stack([L, a * np.float32(scale), b * np.float32(scale)], axis=-1)
    C, h = np.hypot(a, b), np.degrees(np.arctan2(b, a))
    turn, log_scale, lift = by_hue(h, bands=bands, response=response)
    L = L + lift * np.clip(C / NEUTRAL_CHROMA, 0, 1)
    h, C = np.radians(h + turn), C * np.exp(log_scale) * scale
    return np.stack([L, C * np.cos(h), C * np.sin(h)], axis=-1).astype(np.float32)


def by_hue(
    hue_degrees: NDArray[Any], *, bands: Iterable[HueBand], response: Response | None = None
) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """Turn in degrees, natural logarithm of the scale, and lift, of colours of given hues."""
    turn, log_scale, lift = (np.zeros_like(hue_degrees) for _ in range(3))
    if response is not None:
        turn = turn + harmonics(hue_degrees, response.turn)
        log_scale = log_scale + harmonics(hue_degrees, response.log2_scale) * np.log(2)
    turned = hue_degrees + turn
    for band in bands:
        weight = band_weight(turned, hue=band.hue, width=band.width)
        turn = turn + weight * band.turn
        log_scale = log_scale + weight * np.log(max(band.scale, 1e-6))
        lift = lift + weight * band.lightness
    return turn, log_scale, lift


def harmonics(hue_degrees: NDArray[Any], terms: tuple[float, ...]) -> NDArray[Any]:
    """A constant, then cosine and sine of one, two, three … times the hue.

    Examples
    --------
    >>> harmonics(np.array([0.0, 90.0]), (1.0, 0.5, 0.25)).round(6).tolist()
    [1.5, 1.25]
    """
    angle = np.radians(hue_degrees)
    out = np.full_like(angle, terms[0])
    for k in range(1, (len(terms) + 1) // 2):
        out = out + terms[2 * k - 1] * np.cos(k * angle) + terms[2 * k] * np.sin(k * angle)
    return np.asarray(out)


def band_weight(hue_degrees: NDArray[Any], *, hue: float, width: float) -> NDArray[Any]:
    """Weight 0 … 1 of a band at given hues; smooth, 1 at its centre, 0 from ``width`` degrees off."""
    distance = np.abs((hue_degrees - hue + 180) % 360 - 180)
    return np.where(distance < width, np.cos(np.pi / 2 * np.minimum(distance / width, 1)) ** 2, 0)
