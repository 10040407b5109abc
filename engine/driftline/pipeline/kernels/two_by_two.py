# mypy: disallow-untyped-defs=False, disallow-untyped-calls=False
# (numba finds the types of compiled functions out by itself)
"""Compiled demosaicking of 2 × 2 patterns; the reference is :mod:`driftline.stages.demosaic_two_by_two`.

A tile goes down its rows once. Of each intermediate only the last few rows are kept, in a ring, so that they
stay in the cache; a row is split into its even and its odd columns, so that every loop runs over neighbours
in memory and vectorises. Nothing but + - × ÷ √ and comparisons in a fixed order touches a value: the same
bits on any machine, for any size of tile and any number of threads.
"""

from __future__ import annotations

import numpy as np

from driftline.pipeline.kernels.compilation import compiled
from driftline.pipeline.kernels.encoding import decode, encode

RING = 16
MARGIN = 5
"""Columns, in pairs, that a row is lengthened by on either side."""


@compiled
def mirrored(at, size):
    """The place inside that a place outside mirrors."""
    period = max(2 * (size - 1), 1)
    at = at % period
    return period - at if at >= size else at


@compiled
def load(mosaic, row, left, floor, bend, zero, out):
    """One row from ``left`` on, encoded, split by parity of the column; mirrored beyond the edges."""
    height, width = mosaic.shape
    source = mosaic[mirrored(row, height)]
    pairs = out.shape[1]
    first = left - 2 * MARGIN
    inside = min(max(-(first // 2), 0), pairs)
    beyond = max(min((width - first) // 2, pairs), inside)
    even, odd = out[0], out[1]
    for i in range(inside):
        even[i] = source[mirrored(first + 2 * i, width)]
        odd[i] = source[mirrored(first + 2 * i + 1, width)]
    if beyond > inside:
        part = source[first + 2 * inside : first + 2 * beyond]
        even_part, odd_part = even[inside:beyond], odd[inside:beyond]
        for i in range(beyond - inside):
            even_part[i] = part[2 * i]
            odd_part[i] = part[2 * i + 1]
    for i in range(beyond, pairs):
        even[i] = source[mirrored(first + 2 * i, width)]
        odd[i] = source[mirrored(first + 2 * i + 1, width)]
    encode(even, floor, bend, zero)
    encode(odd, floor, bend, zero)


@compiled
def difference(sign, own, before, after, far_before, far_after, out):
    """Green less the other colour along a line, with the second derivative of what is measured."""
    half, quarter = np.float32(0.5), np.float32(0.25)
    for i in range(out.size):
        estimate = (before[i] + after[i] + own[i]) * half - (far_before[i] + far_after[i]) * quarter
        out[i] = sign * (own[i] - estimate)


@compiled
def change(before, after, out):
    """How much the difference changes from one neighbour to the other."""
    for i in range(out.size):
        out[i] = abs(after[i] - before[i])


@compiled
def sum_of_three(before, own, after, out):
    """Changes summed across their direction."""
    for i in range(out.size):
        out[i] = before[i] + own[i] + after[i]


@compiled
def weigh(v0, v1, v2, d0, d1, d2, floor, total, weight):
    """Add one half-direction, by the inverse cube of its variation; index 0 is here, 2 is farthest."""
    half, quarter, one = np.float32(0.5), np.float32(0.25), np.float32(1)
    for i in range(total.size):
        variation = v0[i] + v1[i] + v2[i] + floor
        there = d0[i] * half + (d1[i] + d2[i]) * quarter
        share = one / (variation * variation * variation)
        total[i] += share * there
        weight[i] += share


@compiled
def settle(own, total, weight, out):
    """Green at another colour."""
    for i in range(out.size):
        out[i] = own[i] + total[i] / weight[i]


@compiled
def moments(m0, m1, m2, g0, g1, g2, level, light, common, spread):
    """Sums down three rows of a colour's photosites, of its values, green, and their products."""
    for i in range(level.size):
        level[i] = m0[i] + m1[i] + m2[i]
        light[i] = g0[i] + g1[i] + g2[i]
    for i in range(level.size):
        common[i] = m0[i] * g0[i] + m1[i] * g1[i] + m2[i] * g2[i]
        spread[i] = g0[i] * g0[i] + g1[i] * g1[i] + g2[i] * g2[i]


@compiled
def slope_of(level, light, common, spread, own, green, steadiness, slope, rest):
    """Slope of a colour against green over 3 x 3 of its photosites, and what remains."""
    ninth = np.float32(1.0 / 9.0)
    n = slope.size
    level1, level2 = level[1 : n + 1], level[2 : n + 2]
    light1, light2 = light[1 : n + 1], light[2 : n + 2]
    common1, common2 = common[1 : n + 1], common[2 : n + 2]
    spread1, spread2 = spread[1 : n + 1], spread[2 : n + 2]
    for i in range(n):
        mean = (level[i] + level1[i] + level2[i]) * ninth
        shine = (light[i] + light1[i] + light2[i]) * ninth
        both = (common[i] + common1[i] + common2[i]) * ninth - mean * shine
        square = (spread[i] + spread1[i] + spread2[i]) * ninth - shine * shine
        slope[i] = (both + steadiness) / (square + steadiness)
    for i in range(n):
        rest[i] = own[i] - slope[i] * green[i]


@compiled
def follow_two(s0, s1, r0, r1, green, out):
    """A colour between two of its photosites."""
    half = np.float32(0.5)
    for i in range(out.size):
        out[i] = (s0[i] + s1[i]) * half * green[i] + (r0[i] + r1[i]) * half


@compiled
def follow_four(slopes, rests, green, out):
    """A colour amid four of its photosites."""
    (s0, s1, s2, s3), (r0, r1, r2, r3) = slopes, rests
    quarter = np.float32(0.25)
    for i in range(out.size):
        slope = ((s0[i] + s1[i]) + (s2[i] + s3[i])) * quarter
        out[i] = slope * green[i] + ((r0[i] + r1[i]) + (r2[i] + r3[i])) * quarter


@compiled
def other_parity(row, pattern):
    """Parity of the columns that are not green."""
    return 1 if pattern[row % 2, 0] == 1 else 0


@compiled
def keep(measured, colours, out):
    """What was measured stays as it was."""
    for k in range(2):
        for x in range(k, measured.size, 2):
            out[x, colours[k]] = measured[x]


@compiled
def weave(even, odd, out):
    """Two columns' (channel, pairs) into one row (width, 3)."""
    pairs = out.shape[0] // 2
    flat = out.reshape(-1)
    for i in range(pairs):
        flat[6 * i] = even[0, i]
        flat[6 * i + 1] = even[1, i]
        flat[6 * i + 2] = even[2, i]
        flat[6 * i + 3] = odd[0, i]
        flat[6 * i + 4] = odd[1, i]
        flat[6 * i + 5] = odd[2, i]
    if out.shape[0] % 2:
        for c in range(3):
            out[2 * pairs, c] = even[c, pairs]


@compiled
def differences(e, row, pattern, dh, dv):
    """Green less the other colour at every photosite of a row, along the row and along the columns."""
    wide = e.shape[2]
    above, below = (row - 1) % RING, (row + 1) % RING
    far_above, far_below = (row - 2) % RING, (row + 2) % RING
    here = row % RING
    for k in range(2):
        sign = np.float32(1) if pattern[row % 2, k] == 1 else np.float32(-1)
        own, other = e[here, k], e[here, 1 - k]
        # Of an even column the neighbours are the odd ones of this pair and the last, of an odd column the
        # even ones of this pair and the next.
        before, after = other[k : wide - 2 + k], other[1 + k : wide - 1 + k]
        difference(sign, own[1:-1], before, after, own[:-2], own[2:], dh[here, k, 1:-1])
        difference(sign, own, e[above, k], e[below, k], e[far_above, k], e[far_below, k], dv[here, k])


@compiled
def changes(dh, dv, row, spare, ch, cv):
    """Changes of both; those along columns are summed over three columns at once."""
    wide = dh.shape[2]
    here, above, below = row % RING, (row - 1) % RING, (row + 1) % RING
    for k in range(2):
        other = dh[here, 1 - k]
        change(other[k : wide - 2 + k], other[1 + k : wide - 1 + k], ch[here, k, 1:-1])
        change(dv[above, k], dv[below, k], spare[k])
    for k in range(2):
        other = spare[1 - k]
        before, after = other[k : wide - 2 + k], other[1 + k : wide - 1 + k]
        sum_of_three(before, spare[k, 1:-1], after, cv[here, k, 1:-1])


@compiled
def greens(e, dh, dv, ch, cv, row, pattern, floor, spare, g):
    """Green of one row: what was measured, or what four half-directions say."""
    k = other_parity(row, pattern)
    wide = e.shape[2]
    here, r1, r2, r3, r4 = row % RING, (row - 1) % RING, (row - 2) % RING, (row + 1) % RING, (row + 2) % RING
    s = slice(3, wide - 3)
    g[here, 1 - k] = e[here, 1 - k]
    for c in range(2):
        sum_of_three(ch[r1, c], ch[here, c], ch[r3, c], spare[c])
    total, weight = spare[2, 3 : wide - 3], spare[3, 3 : wide - 3]
    total[:] = np.float32(0)
    weight[:] = np.float32(0)
    own, other, d, beside = spare[k], spare[1 - k], dh[here, k], dh[here, 1 - k]
    v0, d0 = own[3 : wide - 3], d[3 : wide - 3]
    v1, d1 = other[2 + k : wide - 4 + k], beside[2 + k : wide - 4 + k]
    weigh(v0, v1, own[2 : wide - 4], d0, d1, d[2 : wide - 4], floor, total, weight)
    v1, d1 = other[3 + k : wide - 3 + k], beside[3 + k : wide - 3 + k]
    weigh(v0, v1, own[4 : wide - 2], d0, d1, d[4 : wide - 2], floor, total, weight)
    v0, d0 = cv[here, k, s], dv[here, k, s]
    weigh(v0, cv[r1, k, s], cv[r2, k, s], d0, dv[r1, k, s], dv[r2, k, s], floor, total, weight)
    weigh(v0, cv[r3, k, s], cv[r4, k, s], d0, dv[r3, k, s], dv[r4, k, s], floor, total, weight)
    settle(e[here, k, s], total, weight, g[here, k, s])


@compiled
def slopes(e, g, row, pattern, steadiness, spare, slope, rest):
    """Slopes and remainders at the red or blue photosites of one row."""
    k = other_parity(row, pattern)
    here, above, below = row % RING, (row - 2) % RING, (row + 2) % RING
    wide = e.shape[2]
    s, t = slice(3, wide - 3), slice(4, wide - 4)
    level, light, common, spread = spare[0, s], spare[1, s], spare[2, s], spare[3, s]
    moments(
        e[above, k, s],
        e[here, k, s],
        e[below, k, s],
        g[above, k, s],
        g[here, k, s],
        g[below, k, s],
        level,
        light,
        common,
        spread,
    )
    own, green = e[here, k, t], g[here, k, t]
    slope_of(level, light, common, spread, own, green, steadiness, slope[here, t], rest[here, t])


@compiled
def finish(g, slope, rest, row, pattern, settings, even, odd):
    """The three channels of one row, (3, pairs) for the even and the odd columns."""
    k, m, n = other_parity(row, pattern), MARGIN, even.shape[1]
    here, above, below = row % RING, (row - 1) % RING, (row + 1) % RING
    colour = pattern[row % 2, k]
    crossing = 2 - colour
    at_other, at_green = (even, odd) if k == 0 else (odd, even)
    s = slice(m, m + n)
    b, a = slice(m - 1 + k, m - 1 + k + n), slice(m + k, m + k + n)
    green = g[here, k, s]
    slope_around = slope[above, b], slope[above, a], slope[below, b], slope[below, a]
    rest_around = rest[above, b], rest[above, a], rest[below, b], rest[below, a]
    follow_four(slope_around, rest_around, green, at_other[crossing])
    at_other[1] = green
    b, a = slice(m - k, m - k + n), slice(m + 1 - k, m + 1 - k + n)
    green = g[here, 1 - k, s]
    follow_two(slope[here, b], slope[here, a], rest[here, b], rest[here, a], green, at_green[colour])
    follow_two(slope[above, s], slope[below, s], rest[above, s], rest[below, s], green, at_green[crossing])
    for line in (at_other[crossing], at_other[1], at_green[colour], at_green[crossing]):
        decode(line, settings[0], settings[1], settings[2])


@compiled
def demosaic_tile(mosaic, pattern, settings, top, bottom, left, right, out):
    """Write ``out[top:bottom, left:right]``; ``left`` is even.

    ``settings`` are the encoding's floor, bend and value at zero, the floor of variations, and the
    steadiness of slopes.
    """
    n = (right - left + 1) // 2
    wide = n + 2 * MARGIN
    e, g = np.zeros((RING, 2, wide), np.float32), np.zeros((RING, 2, wide), np.float32)
    dh, dv = np.zeros((RING, 2, wide), np.float32), np.zeros((RING, 2, wide), np.float32)
    ch, cv = np.zeros((RING, 2, wide), np.float32), np.zeros((RING, 2, wide), np.float32)
    slope, rest = np.zeros((RING, wide), np.float32), np.zeros((RING, wide), np.float32)
    spare = np.zeros((4, wide), np.float32)
    even, odd = np.zeros((3, n), np.float32), np.zeros((3, n), np.float32)
    for row in range(top - 16, bottom):
        # Each step works on the row for which all it needs is there; rows too far up are left out.
        if row >= top - 16:
            load(mosaic, row + 8, left, settings[0], settings[1], settings[2], e[(row + 8) % RING])
        if row >= top - 12:
            differences(e, row + 6, pattern, dh, dv)
        if row >= top - 10:
            changes(dh, dv, row + 5, spare, ch, cv)
        if row >= top - 6:
            greens(e, dh, dv, ch, cv, row + 3, pattern, settings[3], spare, g)
        if row >= top - 2:
            slopes(e, g, row + 1, pattern, settings[4], spare, slope, rest)
        if row >= top:
            finish(g, slope, rest, row, pattern, settings, even, odd)
            weave(even, odd, out[row, left:right])
            keep(mosaic[row, left:right], pattern[row % 2], out[row, left:right])
