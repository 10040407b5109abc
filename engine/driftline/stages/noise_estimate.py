"""How strong the noise of a frame is, from the frame itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import Mosaic

Step = tuple[int, int]
Numbers = NDArray[np.float64]

PATCH = 16
"""Side of a patch in photosites, about."""

LOOKED_AT = 1_000_000
"""Photosites that are looked at in a large frame: rows of patches evenly apart."""

FLATTEST = 0.1
"""Share of the patches of each brightness that are taken for flat."""

QUANTILE = -1.2816
"""Standard normal quantile of that share."""

OVERLAP = 2.25
"""Sum of squared correlations of a second difference with those around: so many make up for one."""

BRIGHTEST = 0.9
"""Patches with a photosite above this share of the brightest may be clipped, and do not count."""

FEWEST_PATCHES = 8
UNKNOWN_SHOT, UNKNOWN_READ = 1e-4, 2e-3
"""Taken for frames with fewer patches than that: about base sensitivity."""

LEAST_SHOT, LEAST_READ = 1e-7, 1e-5
"""No frame is taken for quieter."""


@dataclass(frozen=True)
class NoiseModel:
    """Variance of a photosite's noise, ``shot * value + read**2``, per colour, in balanced linear units."""

    shot: tuple[float, float, float]
    read: tuple[float, float, float]

    def sigma(self, values: NDArray[Any]) -> NDArray[np.float64]:
        """Standard deviation of the noise at (..., 3) values."""
        variance = np.asarray(self.shot) * np.maximum(values, 0) + np.square(self.read)
        return np.asarray(np.sqrt(variance))


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
        From second differences between photosites of one colour in small patches: the flattest tenth at each
        brightness, where texture counts least. Rounded to three digits.

    Notes
    -----
    After A. Foi, M. Trimeche, V. Katkovnik & K. Egiazarian, "Practical Poissonian-Gaussian noise modeling and
    fitting for single-image raw-data", IEEE Transactions on Image Processing 17(10), 2008, in taking variance
    as a line over the mean; the patches and the robust fit are our own.
    """
    pattern = np.asarray(pattern)
    fits = [_line(*patches(mosaic, pattern, colour)) for colour in range(3)]
    shot, read = zip(*fits, strict=True)
    return NoiseModel(shot=shot, read=read)


def patches(mosaic: Mosaic, pattern: NDArray[Any], colour: int) -> tuple[Numbers, Numbers]:
    """Mean and variance of the noise of small patches of one colour.

    Returns
    -------
    tuple
        (n,) means, and (n,) variances such that of patches that are flat a tenth lies below the true one.
    """
    p, q = pattern.shape
    tall, wide = (max(PATCH // period, 2) * period for period in (p, q))
    strips = _strips(mosaic, tall)
    columns = mosaic.shape[1] // wide
    total, squares, highest = (np.zeros((len(strips), columns)) for _ in range(3))
    sites, differences = 0, 0
    if not total.size:
        return np.zeros(0), np.zeros(0)
    for y, x in np.argwhere(pattern == colour):
        own = strips[:, y::p, x::q][:, :, : columns * (wide // q)].reshape(
            len(strips), tall // p, columns, -1
        )
        total += own.sum(axis=(1, 3), dtype=float)
        highest = np.maximum(highest, own.max(axis=(1, 3), initial=0))
        sites += own.shape[1] * own.shape[3]
        change = _second_differences(strips, pattern, (int(y), int(x)), columns * wide)
        change = change.reshape(len(strips), change.shape[1], columns, -1)
        squares += np.square(change).sum(axis=(1, 3), dtype=float)
        differences += change.shape[1] * change.shape[3]
    whole = (highest < BRIGHTEST * highest.max(initial=0)) & (squares > 0)
    independent = 2 / (9 * differences / OVERLAP)
    low = (1 - independent + QUANTILE * np.sqrt(independent)) ** 3  # E. B. Wilson & M. M. Hilferty, 1931
    return total[whole] / sites, squares[whole] / differences / low


def _strips(mosaic: Mosaic, tall: int) -> Mosaic:
    """(n, tall, W) rows of patches, evenly apart in a large frame."""
    height, width = mosaic.shape
    count = height // tall
    every = max(1, -(-height * width // LOOKED_AT))
    return mosaic[: count * tall].reshape(count, tall, width)[::every]


def _second_differences(strips: Mosaic, pattern: NDArray[Any], place: Step, width: int) -> Mosaic:
    """Half of a - b - c + d over the smallest parallelogram of one colour at a place of the pattern."""
    p, q = pattern.shape
    one, other = _parallelogram(pattern, place)
    down = [0, one[0], other[0], one[0] + other[0]]
    right = [0, one[1], other[1], one[1] + other[1]]
    rows = np.arange(place[0], strips.shape[1] - max(down), p)
    columns = np.arange(place[1], width, q)
    corners = []
    for y, x in zip(down, right, strict=True):
        # Past the sides of the frame the corner on the other side is as good.
        reach = np.where((columns + min(right) < 0) | (columns + max(right) >= strips.shape[2]), 0, x)
        corners.append(strips[:, rows + y][:, :, np.clip(columns + reach, 0, strips.shape[2] - 1)])
    return (corners[0] - corners[1] - corners[2] + corners[3]) * np.float32(0.5)


def _parallelogram(pattern: NDArray[Any], place: Step) -> tuple[Step, Step]:
    """Two steps, downwards or level, that lead from a place to its own colour, alone and together."""
    p, q = pattern.shape

    def same(step: Step) -> bool:
        return bool(pattern[(place[0] + step[0]) % p, (place[1] + step[1]) % q] == pattern[place])

    steps = [(y, x) for y in range(p + 1) for x in range(-q, q + 1) if (y, x) > (0, 0) and same((y, x))]
    steps.sort(key=lambda step: (step[0] ** 2 + step[1] ** 2, step))
    pairs = [
        (one, other)
        for i, one in enumerate(steps)
        for other in steps[:i]
        if one[0] * other[1] != one[1] * other[0] and same((one[0] + other[0], one[1] + other[1]))
    ]
    return min(pairs, key=lambda pair: sum(y * y + x * x for y, x in pair))


def _line(means: Numbers, variances: Numbers) -> tuple[float, float]:
    """Shot and read noise through the lower envelope of variance against mean."""
    if means.size < FEWEST_PATCHES:
        return UNKNOWN_SHOT, UNKNOWN_READ
    groups = np.array_split(np.argsort(means), int(np.clip(means.size // 40, 1, 40)))
    x = np.maximum([means[group].mean() for group in groups], 0)
    y = np.array([np.quantile(variances[group], FLATTEST) for group in groups])
    # Relative errors count: an absolute fit would see bright patches only. Texture only ever adds variance.
    shot, square = 0.0, float(y.min())
    for _ in range(12):
        model = np.maximum(shot * x + square, 1e-12)
        weight = np.where(y > 1.3 * model, 0.2, 1.0) / model
        shot, square = _least_squares(x, y, weight)
    return three_digits(max(shot, LEAST_SHOT)), three_digits(max(np.sqrt(square), LEAST_READ))


def _least_squares(x: Numbers, y: Numbers, weight: Numbers) -> tuple[float, float]:
    """Slope and offset of a line, neither below 0."""
    w = weight * weight
    sums = [float((w * part).sum()) for part in (np.ones_like(x), x, x * x, y, x * y)]
    whole, sx, sxx, sy, sxy = sums
    room = whole * sxx - sx * sx
    slope = (whole * sxy - sx * sy) / room if room > 1e-12 * whole * sxx else 0.0
    offset = (sy - slope * sx) / whole
    if slope < 0:
        return 0.0, sy / whole
    if offset < 0:
        return sxy / sxx, 0.0
    return slope, offset


def three_digits(value: float) -> float:
    """A number to three significant digits, so that it is the same on every machine."""
    return float(f"{value:.3g}")
