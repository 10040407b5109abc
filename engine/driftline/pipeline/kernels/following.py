# mypy: disallow-untyped-defs=False, disallow-untyped-calls=False
# (numba finds the types of compiled functions out by itself)
"""Compiled red and blue from green, for any pattern; the reference is
:mod:`driftline.stages.demosaic_colours`.

Rows lie in rings and are split by place in the pattern, as :mod:`~driftline.pipeline.kernels.cokriging` says.
"""

from __future__ import annotations

import numpy as np

from driftline.pipeline.kernels.compilation import compiled


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
    q, p = e.shape[1], pattern.shape[0]
    own, here, s = row % e.shape[0], row % g.shape[0], slice(n0, n1)
    level, light, common, spread = spare[0, s], spare[1, s], spare[2, s], spare[3, s]
    for f in range(q):
        if pattern[row % p, f] == 1:
            continue
        spare[:, s] = np.float32(0)
        count = counts[row % p, f]
        for t in range(count):
            x = f + places[row % p, f, t, 1]
            y = row + places[row % p, f, t, 0]
            phase, there = x % q, slice(n0 + x // q, n1 + x // q)
            add_moments(
                e[y % e.shape[0], phase, there], g[y % g.shape[0], phase, there], level, light, common, spread
            )
        slope_of(
            level,
            light,
            common,
            spread,
            np.float32(1) / np.float32(count),
            steadiness,
            e[own, f, s],
            g[here, f, s],
            slope[here, f, s],
            rest[here, f, s],
        )


@compiled
def add_follower(w, s0, s1, s2, s3, slope, rest, slopes, rests):
    """Add one photosite's slope and remainder, weighed along each direction by its share."""
    w0, w1, w2, w3 = w[0], w[1], w[2], w[3]
    for i in range(slopes.size):
        weight = s0[i] * w0 + s1[i] * w1 + s2[i] * w2 + s3[i] * w3
        slopes[i] += weight * slope[i]
        rests[i] += weight * rest[i]


@compiled
def mix(slopes, rests, green, difference, following, straying, out):
    """Colour less green, mostly as it follows green, the rest cokriged; adds how far its slope is from 1."""
    one = np.float32(1)
    other = one - following
    for i in range(out.size):
        followed = slopes[i] * green[i] + rests[i]
        out[i] = following * followed + other * (green[i] + difference[i]) - green[i]
        straying[i] += abs(slopes[i] - one)


@compiled
def measured(own, green, slope, straying, out):
    """Colour less green where the colour was measured; adds how far its slope is from 1."""
    one = np.float32(1)
    for i in range(out.size):
        out[i] = own[i] - green[i]
        straying[i] += abs(slope[i] - one)


@compiled
def follow(shares, slope, rest, row, f, count, places, weights, n0, n1, slopes, rests):
    """Interpolate slopes and remainders of one colour at one place of the pattern."""
    ring, q = slope.shape[0], slope.shape[1]
    here, s = row % ring, slice(n0, n1)
    slopes[:] = np.float32(0)
    rests[:] = np.float32(0)
    s0, s1, s2, s3 = (
        shares[here, 0, f, s],
        shares[here, 1, f, s],
        shares[here, 2, f, s],
        shares[here, 3, f, s],
    )
    for t in range(count):
        x = f + places[t, 1]
        phase, at = x % q, x // q
        near, there = (row + places[t, 0]) % ring, slice(n0 + at, n1 + at)
        add_follower(
            weights[t], s0, s1, s2, s3, slope[near, phase, there], rest[near, phase, there], slopes, rests
        )


@compiled
def spread(part, f, q, n0, out):
    """Put a line of one place in the pattern where it lies in the picture."""
    for i in range(part.size):
        out[q * (n0 + i) + f] = part[i]


@compiled
def tints(
    e,
    g,
    mixed,
    shares,
    slope,
    rest,
    row,
    pattern,
    counts,
    places,
    weights,
    following,
    n0,
    n1,
    spare,
    tint,
    light,
    straying,
):
    """Both colours less green of a row, green, and how far slopes are from 1, as they lie in the picture."""
    q, here, y, s = g.shape[1], row % g.shape[0], row % pattern.shape[0], slice(n0, n1)
    slopes, rests, line, strays = spare[0, s], spare[1, s], spare[2, s], spare[3, s]
    for f in range(q):
        green = g[here, f, s]
        strays[:] = np.float32(0)
        for c in range(2):
            if pattern[y, f] == 2 * c:
                measured(e[row % e.shape[0], f, s], green, slope[here, f, s], strays, line)
            else:
                near, where, how_much = counts[c, y, f], places[c, y, f], weights[c, y, f]
                follow(shares, slope, rest, row, f, near, where, how_much, n0, n1, slopes, rests)
                mix(slopes, rests, green, mixed[here, c, f, s], following, strays, line)
            spread(line, f, q, n0, tint[c, row % light.shape[0]])
        spread(green, f, q, n0, light[row % light.shape[0]])
        spread(strays, f, q, n0, straying[row % light.shape[0]])
