# mypy: disallow-untyped-defs=False, disallow-untyped-calls=False
# (numba finds the types of compiled functions out by itself)
"""Compiled red and blue from green, for any pattern; the reference is
:mod:`driftline.stages.demosaic_colours`.

Rows lie in rings and are split by place in the pattern, as :mod:`~driftline.pipeline.kernels.cokriging` says.
"""

from __future__ import annotations

import numpy as np

from driftline.pipeline.kernels.compilation import compiled
from driftline.pipeline.kernels.encoding import decode


@compiled
def add_moments(m, g, level, light, common, spread):
    """Add one photosite to the sums of its values, of green, and of their products."""
    for i in range(level.size):
        level[i] += m[i]
        light[i] += g[i]
        common[i] += m[i] * g[i]
        spread[i] += g[i] * g[i]


@compiled
def slope_of(level, light, common, spread, share, steadiness, own, green, slope, rest):
    """Slope of a colour against green, and what remains."""
    for i in range(slope.size):
        mean, shine = level[i] * share, light[i] * share
        both = common[i] * share - mean * shine
        square = spread[i] * share - shine * shine
        slope[i] = (both + steadiness) / (square + steadiness)
    for i in range(slope.size):
        rest[i] = own[i] - slope[i] * green[i]


@compiled
def slopes(e, g, row, pattern, counts, places, steadiness, n0, n1, spare, slope, rest):
    """Slopes and remainders at the red and blue photosites of one row."""
    ring, q, p = e.shape[0], e.shape[1], pattern.shape[0]
    here = row % ring
    for f in range(q):
        if pattern[row % p, f] == 1:
            continue
        spare[:, n0:n1] = np.float32(0)
        count = counts[row % p, f]
        for t in range(count):
            x = f + places[row % p, f, t, 1]
            phase, at = x % q, x // q
            line = (row + places[row % p, f, t, 0]) % ring
            add_moments(
                e[line, phase, n0 + at : n1 + at],
                g[line, phase, n0 + at : n1 + at],
                spare[0, n0:n1],
                spare[1, n0:n1],
                spare[2, n0:n1],
                spare[3, n0:n1],
            )
        slope_of(
            spare[0, n0:n1],
            spare[1, n0:n1],
            spare[2, n0:n1],
            spare[3, n0:n1],
            np.float32(1) / np.float32(count),
            steadiness,
            e[here, f, n0:n1],
            g[here, f, n0:n1],
            slope[here, f, n0:n1],
            rest[here, f, n0:n1],
        )


@compiled
def add_follower(w, slope, rest, slopes, rests):
    """Add one photosite's slope and remainder."""
    for i in range(slopes.size):
        slopes[i] += w * slope[i]
        rests[i] += w * rest[i]


@compiled
def mix(slopes, rests, green, difference, following, out):
    """Mostly what follows green, the rest by the cokriged difference."""
    other = np.float32(1) - following
    for i in range(out.size):
        out[i] = following * (slopes[i] * green[i] + rests[i]) + other * (green[i] + difference[i])


@compiled
def finish(
    g, mixed, slope, rest, row, pattern, counts, places, weights, settings, n0, n1, spare, mosaic, left, out
):
    """The three channels of one row; what was measured stays as it was."""
    ring, q, p = g.shape[0], g.shape[1], pattern.shape[0]
    here, width = row % ring, out.shape[0]
    for f in range(q):
        green = g[here, f, n0:n1]
        own = pattern[row % p, f]
        count = (width - f + q - 1) // q
        for channel in range(3):
            if channel == own:
                for i in range(count):
                    out[q * i + f, channel] = mosaic[row, left + q * i + f]
                continue
            line = spare[2, n0:n1]
            if channel == 1:
                line[:] = green
            else:
                c = channel // 2
                spare[0, n0:n1] = np.float32(0)
                spare[1, n0:n1] = np.float32(0)
                for t in range(counts[c, row % p, f]):
                    x = f + places[c, row % p, f, t, 1]
                    phase, at = x % q, x // q
                    near = (row + places[c, row % p, f, t, 0]) % ring
                    add_follower(
                        weights[c, row % p, f, t],
                        slope[near, phase, n0 + at : n1 + at],
                        rest[near, phase, n0 + at : n1 + at],
                        spare[0, n0:n1],
                        spare[1, n0:n1],
                    )
                mix(spare[0, n0:n1], spare[1, n0:n1], green, mixed[here, c, f, n0:n1], settings[5], line)
            decode(line, settings[0], settings[1], settings[2])
            for i in range(count):
                out[q * i + f, channel] = line[i]
