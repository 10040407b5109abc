# mypy: disallow-untyped-defs=False, disallow-untyped-calls=False
# (numba finds the types of compiled functions out by itself)
"""Compiled demosaicking of any pattern; the reference is :mod:`driftline.stages.demosaic_cokriging`.

A tile goes down its rows once and keeps the last few rows of each intermediate in a ring. A row is split by
place in the pattern: ``line[f, i]`` is column ``left + q * (i - margin) + f``. So the weights of a loop are
constant, its neighbours lie in memory one after the other, and it vectorises. Nothing but + - × ÷ √ and
comparisons in a fixed order touches a value: the same bits on any machine, for any tiles and threads.
"""

from __future__ import annotations

import numpy as np

from driftline.pipeline.kernels.compilation import compiled
from driftline.pipeline.kernels.encoding import encode
from driftline.pipeline.kernels.false_colour import (
    REACH,
    SETTINGS,
    WIDER_ROWS,
    alternation,
    departures,
    refine,
    repeated,
    widen,
)
from driftline.pipeline.kernels.following import slopes, tints

DIRECTIONS = 4
MODELS = 8
"""Two models of the picture times four directions; model k goes along direction ``k % 4``."""

OUTPUTS = 16
"""Red less green and blue less green, by each model."""

GROUP = 5
"""Taps that are summed in one go."""


@compiled
def load(mosaic, top, bottom, left, right, row, first, settings, line, out):
    """One row, encoded, from column ``first`` on; ``top`` … ``right`` are what lies beyond the edges."""
    height, width = mosaic.shape
    margin = top.shape[0]
    q, wide = out.shape
    row = min(max(row, -margin), height + margin - 1)
    for i in range(line.size):
        x = min(max(first + i, -margin), width + margin - 1)
        if row < 0:
            line[i] = top[row + margin, x + margin]
        elif row >= height:
            line[i] = bottom[row - height, x + margin]
        elif x < 0:
            line[i] = left[row, x + margin]
        elif x >= width:
            line[i] = right[row, x - width]
        else:
            line[i] = mosaic[row, x]
    encode(line, settings[0], settings[1], settings[2])
    for f in range(q):
        part = out[f]
        for i in range(wide):
            part[i] = line[q * i + f]


@compiled
def add_group(x0, x1, x2, x3, x4, w, total):
    """Add five weighted neighbours to each of the outputs."""
    for o in range(OUTPUTS):
        w0, w1, w2, w3, w4 = w[o, 0], w[o, 1], w[o, 2], w[o, 3], w[o, 4]
        part = total[o]
        for i in range(part.size):
            part[i] = part[i] + w0 * x0[i] + w1 * x1[i] + w2 * x2[i] + w3 * x3[i] + w4 * x4[i]


@compiled
def differences(e, row, taps, weights, n0, n1, total, out):
    """Colour differences of one row by each model; ``out`` is (16, q, wide), ``total`` (16, n1 - n0)."""
    ring, q = e.shape[0], e.shape[1]
    p, groups = weights.shape[0], weights.shape[1]
    phase, line, at = np.empty(GROUP, np.int64), np.empty(GROUP, np.int64), np.empty(GROUP, np.int64)
    for f in range(q):
        total[:, :] = np.float32(0)
        for group in range(groups):
            for j in range(GROUP):
                x = f + taps[group, j, 1]
                phase[j] = x % q
                at[j] = x // q
                line[j] = (row + taps[group, j, 0]) % ring
            add_group(
                e[line[0], phase[0], n0 + at[0] : n1 + at[0]],
                e[line[1], phase[1], n0 + at[1] : n1 + at[1]],
                e[line[2], phase[2], n0 + at[2] : n1 + at[2]],
                e[line[3], phase[3], n0 + at[3] : n1 + at[3]],
                e[line[4], phase[4], n0 + at[4] : n1 + at[4]],
                weights[row % p, group, f],
                total,
            )
        for o in range(OUTPUTS):
            out[o, f, n0:n1] = total[o]


@compiled
def add_change(here, there, out):
    """Add how much a difference changes from here to there."""
    for i in range(out.size):
        out[i] += abs(there[i] - here[i])


@compiled
def changes(d, row, steps, n0, n1, out):
    """Change of both differences along each model's direction; ``out`` is (8, q, wide)."""
    ring, q = d.shape[0], d.shape[2]
    for k in range(MODELS):
        below = (row + steps[k % DIRECTIONS, 0]) % ring
        for f in range(q):
            x = f + steps[k % DIRECTIONS, 1]
            g, at = x % q, x // q
            out[k, f, n0:n1] = np.float32(0)
            for c in range(2):
                o = 2 * k + c
                add_change(d[row % ring, o, f, n0:n1], d[below, o, g, n0 + at : n1 + at], out[k, f, n0:n1])


@compiled
def add_two(a, b, out):
    """Sum of two lines."""
    for i in range(out.size):
        out[i] = a[i] + b[i]


@compiled
def add_five(a, b, c, d, e, out):
    """Sum of five lines."""
    for i in range(out.size):
        out[i] = a[i] + b[i] + c[i] + d[i] + e[i]


@compiled
def sums_along_row(ch, row, steps, n0, n1, both, out):
    """Changes to both neighbours, summed over five columns; ``out`` is (8, q, wide)."""
    ring, q = ch.shape[0], ch.shape[2]
    wide = ch.shape[3]
    for k in range(MODELS):
        above = (row - steps[k % DIRECTIONS, 0]) % ring
        for f in range(q):
            x = f - steps[k % DIRECTIONS, 1]
            g, at = x % q, x // q
            m0, m1 = max(-at, 0), wide - max(at, 0)
            add_two(ch[row % ring, k, f, m0:m1], ch[above, k, g, m0 + at : m1 + at], both[f, m0:m1])
        for f in range(q):
            g0, g1, g3, g4 = (f - 2) % q, (f - 1) % q, (f + 1) % q, (f + 2) % q
            a0, a1, a3, a4 = (f - 2) // q, (f - 1) // q, (f + 1) // q, (f + 2) // q
            add_five(
                both[g0, n0 + a0 : n1 + a0],
                both[g1, n0 + a1 : n1 + a1],
                both[f, n0:n1],
                both[g3, n0 + a3 : n1 + a3],
                both[g4, n0 + a4 : n1 + a4],
                out[k, f, n0:n1],
            )


@compiled
def weigh(variation, scale, floor, red, blue, total_red, total_blue, weight):
    """Add one model, by the inverse sixth power of its variation."""
    one = np.float32(1)
    for i in range(weight.size):
        v = variation[i] * scale + floor
        square = v * v
        share = one / (square * square * square)
        total_red[i] += share * red[i]
        total_blue[i] += share * blue[i]
        weight[i] += share


@compiled
def settle(total_red, total_blue, s0, s1, s2, s3, red, blue):
    """Weighted means of both differences; the directions' weights become shares."""
    one = np.float32(1)
    for i in range(s0.size):
        whole = one / (s0[i] + s1[i] + s2[i] + s3[i])
        red[i] = total_red[i] * whole
        blue[i] = total_blue[i] * whole
        s0[i] *= whole
        s1[i] *= whole
        s2[i] *= whole
        s3[i] *= whole


@compiled
def green_range(e, row, f, pattern, n0, n1, low, high):
    """Range of the green photosites among the eight around; whether there are any."""
    ring, q, p = e.shape[0], e.shape[1], pattern.shape[0]
    low[n0:n1] = np.float32(np.inf)
    high[n0:n1] = np.float32(-np.inf)
    found = False
    for down in range(-1, 2):
        for right in range(-1, 2):
            phase, at = (f + right) % q, (f + right) // q
            if pattern[(row + down) % p, phase] == 1:
                widen(e[(row + down) % ring, phase, n0 + at : n1 + at], low[n0:n1], high[n0:n1])
                found = True
    return found


@compiled
def limit(low, high, slack, out):
    """Keep green near that range."""
    for i in range(out.size):
        beyond = (high[i] - low[i]) * slack
        out[i] = min(max(out[i], low[i] - beyond), high[i] + beyond)


@compiled
def greens(e, d, hs, row, pattern, scales, settings, n0, n1, spare, shares, mixed, g):
    """Both differences (``mixed``), the directions' shares in them, and green of one row."""
    q, p, ring = e.shape[1], pattern.shape[0], hs.shape[0]
    here, at = row % g.shape[0], row % d.shape[0]
    far_above, above, level = (row - 2) % ring, (row - 1) % ring, row % ring
    below, far_below = (row + 1) % ring, (row + 2) % ring
    s = slice(n0, n1)
    for f in range(q):
        total_red, total_blue, variation = spare[0, s], spare[1, s], spare[2, s]
        total_red[:] = np.float32(0)
        total_blue[:] = np.float32(0)
        for k in range(DIRECTIONS):
            shares[here, k, f, s] = np.float32(0)
        for k in range(MODELS):
            sums = hs[far_above, k, f, s], hs[above, k, f, s], hs[level, k, f, s]
            add_five(sums[0], sums[1], sums[2], hs[below, k, f, s], hs[far_below, k, f, s], variation)
            red, blue = d[at, 2 * k, f, s], d[at, 2 * k + 1, f, s]
            along = k % DIRECTIONS
            weigh(
                variation,
                scales[along],
                settings[3],
                red,
                blue,
                total_red,
                total_blue,
                shares[here, along, f, s],
            )
        s0, s1, s2, s3 = (
            shares[here, 0, f, s],
            shares[here, 1, f, s],
            shares[here, 2, f, s],
            shares[here, 3, f, s],
        )
        settle(total_red, total_blue, s0, s1, s2, s3, mixed[here, 0, f, s], mixed[here, 1, f, s])
        colour = pattern[row % p, f]
        own, out = e[row % e.shape[0], f], g[here, f]
        if colour == 1:
            out[n0:n1] = own[n0:n1]
            continue
        difference = mixed[here, colour // 2, f]
        for i in range(n0, n1):
            out[i] = own[i] - difference[i]
        if green_range(e, row, f, pattern, n0, n1, spare[0], spare[1]):
            limit(spare[0, s], spare[1, s], settings[6], out[s])


def demosaic_tile(*given):
    """Write a tile; takes what :func:`write_tile` does after its first argument."""
    write_tile(SETTINGS, *given)


@compiled
def write_tile(
    false_colour,
    mosaic,
    edge_top,
    edge_bottom,
    edge_left,
    edge_right,
    pattern,
    settings,
    steps,
    scales,
    reaches,
    taps,
    tap_weights,
    own_counts,
    own_places,
    near_counts,
    near_places,
    near_weights,
    top,
    bottom,
    left,
    right,
    out,
):
    """Write ``out[top:bottom, left:right]``; ``left`` is a multiple of the pattern's period."""
    q = pattern.shape[1]
    radius, slope_reach, near_reach = reaches[0], reaches[1], reaches[2]
    far = radius + 3 + slope_reach + near_reach
    # How far each intermediate is good, in periods from the ends of a row.
    at_d = -(-radius // q)
    at_ch = at_d + -(-1 // q) if q > 1 else at_d + 1
    at_hs = at_ch + 1 + -(-2 // q)
    at_slope = at_hs + -(-slope_reach // q)
    at_tint = at_slope + -(-near_reach // q)
    m = at_tint + -(-REACH // q)
    n = -(-(right - left) // q)
    wide = n + 2 * m
    # How many rows of each are still needed; fewer stay in the cache.
    ring, few = far + slope_reach + 2, slope_reach + 2 * near_reach + slope_reach + 2

    e, g = np.zeros((ring, q, wide), np.float32), np.zeros((few, q, wide), np.float32)
    slope, rest = np.zeros((few, q, wide), np.float32), np.zeros((few, q, wide), np.float32)
    shares = np.zeros((few, DIRECTIONS, q, wide), np.float32)
    mixed = np.zeros((few, 2, q, wide), np.float32)
    d = np.zeros((4, OUTPUTS, q, wide), np.float32)
    ch, hs = np.zeros((2, MODELS, q, wide), np.float32), np.zeros((5, MODELS, q, wide), np.float32)
    line = np.zeros(q * wide, np.float32)
    total = np.zeros((OUTPUTS, wide - 2 * at_d), np.float32)
    both, spare = np.zeros((q, wide), np.float32), np.zeros((4, wide), np.float32)
    tint, planes = np.zeros((2, WIDER_ROWS, q * wide), np.float32), (WIDER_ROWS, q * wide)
    light, straying, departure = (
        np.zeros(planes, np.float32),
        np.zeros(planes, np.float32),
        np.zeros(planes, np.float32),
    )
    lines, own = np.zeros((9, q * wide), np.float32), repeated(pattern.astype(np.int32), right - left)
    flat = out.reshape(out.shape[0], 3 * out.shape[1])

    top, bottom = top - REACH, bottom + REACH  # differences are wanted beyond the tile
    for y in range(top - 2 * far, bottom):
        # Each step works on the row that all it needs is ready for.
        row = y + far
        load(
            mosaic,
            edge_top,
            edge_bottom,
            edge_left,
            edge_right,
            row,
            left - q * m,
            settings,
            line,
            e[row % ring],
        )
        row = y + near_reach + slope_reach + 3
        if row >= top - near_reach - slope_reach - 3:
            differences(e, row, taps, tap_weights, at_d, wide - at_d, total, d[row % 4])
        row -= 1
        if row >= top - near_reach - slope_reach - 3:
            changes(d, row, steps, at_ch, wide - at_ch, ch[row % 2])
        if row >= top - near_reach - slope_reach - 2:
            sums_along_row(ch, row, steps, at_hs, wide - at_hs, both, hs[row % 5])
        row -= 2
        if row >= top - near_reach - slope_reach:
            greens(e, d, hs, row, pattern, scales, settings, at_hs, wide - at_hs, spare, shares, mixed, g)
        row -= slope_reach
        if row >= top - near_reach:
            slopes(
                e,
                g,
                row,
                pattern,
                own_counts,
                own_places,
                settings[4],
                at_slope,
                wide - at_slope,
                spare,
                slope,
                rest,
            )
        if y >= top:
            tints(
                e,
                g,
                mixed,
                shares,
                slope,
                rest,
                y,
                pattern,
                near_counts,
                near_places,
                near_weights,
                settings[5],
                at_tint,
                wide - at_tint,
                spare,
                tint,
                light,
                straying,
            )
            departures(light, y - 1, departure)
        row = y - REACH
        if row >= top + REACH:  # the tile's own
            alternation(light, departure, row, q * m, false_colour, lines, lines[8, : right - left])
            refine(
                tint,
                light,
                straying,
                lines[8],
                row,
                q * m,
                own[row % pattern.shape[0]],
                mosaic[row, left:right],
                settings,
                false_colour,
                lines,
                flat[row, 3 * left : 3 * right],
            )
