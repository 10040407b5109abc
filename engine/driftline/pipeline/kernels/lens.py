"""Compiled undoing of a lens: the reference's arithmetic, tile by tile."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from driftline.pipeline.kernels.compilation import compiled
from driftline.pipeline.kernels.tiles import run_tiles
from driftline.stages.lens import GAIN_STEPS, Terms, bend_of


def lens(rgb: NDArray[np.float32], *, distortion: Terms = (), falloff_ev: Terms = ()) -> NDArray[np.float32]:
    """As :func:`driftline.stages.lens.lens` does, to float32's rounding."""
    if not any((*distortion, *falloff_ev)):
        return rgb
    bend = bend_of(distortion, falloff_ev)
    rgb = np.ascontiguousarray(rgb)
    out = np.empty_like(rgb)
    moved = any(distortion)

    def tile(top: int, bottom: int, left: int, right: int) -> None:
        lens_tile(rgb, bend.radial, bend.gain, moved, top, bottom, left, right, out)

    run_tiles(tile, *rgb.shape[:2])
    return out


@compiled
def lens_tile(rgb, radial, gains, moved, top, bottom, left, right, out):
    """One tile: where each place was seen, what was seen there, and the gain."""
    height, width = rgb.shape[0], rgb.shape[1]
    mid_y, mid_x = (height - 1) / 2, (width - 1) / 2
    corner = (height * height + width * width) / 4
    down, across = np.empty(4), np.empty(4)
    for row in range(top, bottom):
        y = row - mid_y
        for column in range(left, right):
            x = column - mid_x
            r2 = (y * y + x * x) / corner
            factor = radial[0] + r2 * (radial[1] + r2 * (radial[2] + r2 * radial[3]))
            gain = gain_at(gains, r2 * factor * factor)
            if not moved:
                for channel in range(3):
                    out[row, column, channel] = np.float32(rgb[row, column, channel] * gain)
                continue
            seen_y, seen_x = y * factor + mid_y, x * factor + mid_x
            first_y, first_x = int(np.floor(seen_y)), int(np.floor(seen_x))
            weigh(seen_y - first_y, down)
            weigh(seen_x - first_x, across)
            for channel in range(3):
                out[row, column, channel] = np.float32(
                    sample(rgb, first_y, first_x, channel, down, across) * gain
                )


@compiled
def gain_at(gains, r2):
    """The gain at r², straight between the steps."""
    at = min(max(r2 * GAIN_STEPS, 0.0), float(GAIN_STEPS))
    step = int(np.floor(at))
    return gains[step] + (gains[step + 1] - gains[step]) * (at - step)


@compiled
def weigh(t, weights):
    """Catmull-Rom weights of the four places about a fraction."""
    weights[0] = t * (t * (1.0 - 0.5 * t) - 0.5)
    weights[1] = t * t * (1.5 * t - 2.5) + 1.0
    weights[2] = t * (t * (2.0 - 1.5 * t) + 0.5)
    weights[3] = t * t * (0.5 * t - 0.5)


@compiled
def sample(rgb, first_y, first_x, channel, down, across):
    """The cubic through four by four places, held within the nearest four."""
    height, width = rgb.shape[0], rgb.shape[1]
    total, low, high = 0.0, np.inf, -np.inf
    for i in range(4):
        row = min(max(first_y + i - 1, 0), height - 1)
        line = 0.0
        for j in range(4):
            value = rgb[row, min(max(first_x + j - 1, 0), width - 1), channel]
            line += across[j] * value
            if 0 < i < 3 and 0 < j < 3:
                low, high = min(low, value), max(high, value)
        total += down[i] * line
    return min(max(total, low), high)
