# mypy: disallow-untyped-defs=False, disallow-untyped-calls=False
# (numba finds the types of compiled functions out by itself)
"""The mosaic's encoding, compiled; the reference is in :mod:`driftline.stages.demosaic`."""

from __future__ import annotations

import numpy as np

from driftline.pipeline.kernels.compilation import compiled


@compiled
def encode(values, floor, bend, zero):
    """Encode in place."""
    for i in range(values.size):
        value = values[i]
        root = np.sqrt(abs(value) + floor)
        size = root + bend * np.sqrt(root) - zero
        values[i] = -size if value < np.float32(0) else size


@compiled
def decode(values, floor, bend, zero):
    """Decode in place."""
    half = bend * np.float32(0.5)
    shift = half * half + zero
    for i in range(values.size):
        value = values[i]
        fourth = np.sqrt(abs(value) + shift) - half
        square = fourth * fourth
        size = square * square - floor
        values[i] = -size if value < np.float32(0) else size
