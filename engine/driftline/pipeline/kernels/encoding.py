# mypy: disallow-untyped-defs=False, disallow-untyped-calls=False
# (numba finds the types of compiled functions out by itself)
"""The mosaic's encoding, compiled; the reference is in :mod:`driftline.stages.demosaic`."""

from __future__ import annotations

import numpy as np

from driftline.pipeline.kernels.compilation import compiled


@compiled
def encoded(value, floor, bend, zero):
    """One value encoded."""
    root = np.sqrt(abs(value) + floor)
    size = root + bend * np.sqrt(root) - zero
    return -size if value < np.float32(0) else size


@compiled
def encode(values, floor, bend, zero):
    """Encode in place."""
    for i in range(values.size):
        values[i] = encoded(values[i], floor, bend, zero)


@compiled
def decoded(value, floor, bend, zero):
    """One value decoded."""
    half = bend * np.float32(0.5)
    shift = half * half + zero
    fourth = np.sqrt(abs(value) + shift) - half
    square = fourth * fourth
    size = square * square - floor
    return -size if value < np.float32(0) else size
