"""Seeded grey-scale maps that repeat without a seam: cobbles, bricks, stains, puddles. Values 0 … 1."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter
from scipy.spatial import cKDTree

Array = NDArray[np.float64]


def _stretched(values: Array) -> Array:
    low, high = np.percentile(values, (1, 99))
    return np.asarray(np.clip((values - low) / (high - low), 0, 1))


@cache
def clouds(size: int, seed: int, *, roughness: float = 1.8) -> Array:
    """Noise whose spectrum falls as 1 / f ** roughness."""
    generator = np.random.default_rng(seed)
    fy, fx = np.fft.fftfreq(size)[:, None], np.fft.rfftfreq(size)[None, :]
    frequency = np.hypot(fy, fx)
    frequency[0, 0] = 1
    shape = frequency.shape
    spectrum = (generator.normal(size=shape) + 1j * generator.normal(size=shape)) / frequency**roughness
    spectrum[0, 0] = 0
    return _stretched(np.fft.irfft2(spectrum, s=(size, size)))


@cache
def mottled(size: int, seed: int, *, fine: float = 0.5, stretch: int = 1) -> Array:
    """Stains under a fine grain, both drawn out ``stretch`` times along the second direction (upright)."""
    wide = clouds(size, seed, roughness=1.7)
    grain = clouds(size, seed + 1, roughness=0.75)
    if stretch > 1:
        drawn = gaussian_filter(grain, (stretch * 3.0, 0.6), mode="wrap")
        grain = _stretched(drawn)
        wide = _stretched(gaussian_filter(wide, (stretch * 6.0, 1.0), mode="wrap"))
    return np.asarray(np.clip((1 - fine) * wide + fine * grain, 0, 1))


@cache
def weave(size: int, seed: int, threads: int) -> Array:
    """Twill: slanting ribs, broken by the unevenness of the yarn."""
    y, x = (np.indices((size, size)) + 0.5) / size
    yarn = clouds(size, seed, roughness=0.9)
    rib = 0.5 + 0.5 * np.sin(2 * np.pi * (threads * (x + y) + 0.8 * yarn))
    return np.asarray(np.clip(0.45 * rib + 0.55 * clouds(size, seed + 1, roughness=1.1), 0, 1))


@cache
def puddles(size: int, seed: int, share: float = 0.35) -> Array:
    """Where water stands: 1 in puddles, soft at their rims, over ``share`` of the ground."""
    field = clouds(size, seed, roughness=1.9)
    level = np.quantile(field, 1 - share)
    return np.asarray(np.clip((field - level) / 0.10 + 0.5, 0, 1))


@cache
def cobbles(size: int, seed: int, across: int = 24) -> tuple[Array, Array]:
    """Setts in shifted rows: (height of the stones, a shade of its own for each stone)."""
    generator = np.random.default_rng(seed)
    rows, columns = np.mgrid[0:across, 0:across].astype(float)
    columns = (columns + 0.5 * (rows % 2)) % across
    centres = np.stack((rows + 0.5, columns + 0.5), axis=-1).reshape(-1, 2)
    centres += generator.normal(0, 0.10, centres.shape)
    tree = cKDTree(centres % across, boxsize=across)
    pixel = (np.indices((size, size)).reshape(2, -1).T + 0.5) * across / size
    distance, nearest = tree.query(pixel, k=2)
    gap = (distance[:, 1] - distance[:, 0]).reshape(size, size)
    height = np.clip(gap / 0.35, 0, 1) ** 0.5
    grain = clouds(size, seed + 1, roughness=1.2)
    shade = generator.uniform(0, 1, len(centres))[nearest[:, 0]].reshape(size, size)
    return np.clip(0.85 * height + 0.15 * grain, 0, 1), np.clip(0.75 * shade + 0.25 * grain, 0, 1)


@cache
def bricks(size: int, seed: int, courses: int = 16, across: int = 6) -> tuple[Array, Array, Array]:
    """A running bond: (height, 1 in the mortar, a shade of its own for each brick)."""
    generator = np.random.default_rng(seed)
    y, x = (np.indices((size, size)) + 0.5) / size
    course = np.floor(y * courses).astype(int)
    along = x * across + 0.5 * (course % 2)
    brick = np.floor(along).astype(int) % across
    edge_y = np.minimum(y * courses % 1, 1 - y * courses % 1) / courses
    edge_x = np.minimum(along % 1, 1 - along % 1) / across
    inside = np.clip((np.minimum(edge_x, edge_y) - 0.0035) / 0.003, 0, 1)
    shade = generator.uniform(0, 1, (courses, across))[course, brick]
    grain = clouds(size, seed + 1, roughness=1.0)
    return (
        gaussian_filter(inside, 1.0, mode="wrap") * 0.9 + 0.1 * grain,
        1 - inside,
        0.8 * shade + 0.2 * grain,
    )
