"""What lies beyond the edge of a mosaic: the picture mirrored, seen through the pattern."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

REACH = 1.0
"""Standard deviation, in photosites, of the first guess."""

GUESSED_FROM = 8
"""Photosites further in than the margin reflects that the first guess looks at."""


def colours_of(pattern: NDArray[Any], shape: tuple[int, ...], margin: int = 0) -> NDArray[np.intp]:
    """(H, W) colour of each photosite, of a mosaic that begins ``margin`` before the pattern."""
    p, q = pattern.shape
    rows, columns = np.arange(shape[0]) - margin, np.arange(shape[1]) - margin
    return np.asarray(pattern[np.ix_(rows % p, columns % q)], dtype=np.intp)


def pad(mosaic: NDArray[Any], pattern: NDArray[Any], margin: int) -> NDArray[np.float32]:
    """Lengthen a mosaic on every side.

    Parameters
    ----------
    mosaic
        (H, W).
    pattern
        (p, q).
    margin
        Photosites on each side.

    Returns
    -------
    NDArray
        (H + 2 margin, W + 2 margin) float32. Where mirrored photosites have the colour the pattern asks for
        (always with 2 × 2 patterns) they are taken as they are; else a first guess of that colour is
        mirrored, made by normalised convolution (Knutsson & Westin, "Normalized and differential
        convolution", CVPR 1993).
    """
    mosaic = np.asarray(mosaic, dtype=np.float32)
    padded = np.pad(mosaic, margin, mode="reflect")
    wanted = colours_of(pattern, padded.shape, margin)
    found = np.pad(colours_of(pattern, mosaic.shape), margin, mode="reflect")
    wrong = wanted != found
    if wrong.any():
        guess = np.pad(
            _guess(mosaic, pattern, margin), ((margin, margin), (margin, margin), (0, 0)), "reflect"
        )
        padded[wrong] = np.take_along_axis(guess, wanted[..., None], axis=2)[wrong, 0]
    return padded


def _guess(mosaic: NDArray[np.float32], pattern: NDArray[Any], margin: int) -> NDArray[np.float32]:
    """(H, W, 3), filled only as far in as the margin reaches."""
    guess = np.zeros((*mosaic.shape, 3), np.float32)
    colours = colours_of(pattern, mosaic.shape)
    deep, used = margin + GUESSED_FROM, margin + 1
    ends = ((np.s_[:deep], np.s_[:used]), (np.s_[-deep:], np.s_[-used:]))
    for part, kept in ends:
        guess[:, part][:, kept] = _filled(mosaic[:, part], colours[:, part])[:, kept]
    for part, kept in ends:
        guess[part][kept] = _filled(mosaic[part], colours[part])[kept]
    return guess


def _filled(mosaic: NDArray[np.float32], colours: NDArray[Any]) -> NDArray[np.float32]:
    """Each colour as the Gaussian-weighted mean of its photosites, wider where there are none near."""
    from scipy import ndimage  # noqa: PLC0415  loaded where it is needed

    planes = []
    for colour in range(3):
        present = (colours == colour).astype(np.float64)
        total, weight = mosaic * present, present
        for reach in (REACH, 2 * REACH, 4 * REACH, 16 * REACH):
            far = [ndimage.gaussian_filter(plane, reach, mode="reflect") for plane in (total, weight)]
            missing = weight < 1e-3
            total, weight = (
                np.where(missing, new, old) for new, old in zip(far, (total, weight), strict=True)
            )
        planes.append(total / np.maximum(weight, 1e-12))
    return np.stack(planes, axis=-1).astype(np.float32)
