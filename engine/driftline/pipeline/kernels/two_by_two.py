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
from driftline.pipeline.kernels.encoding import encode
from driftline.pipeline.kernels.false_colour import ROWS, SETTINGS, SPACING, refine, repeated
from driftline.pipeline.kernels.following import measured

RING = 16
"""Rows of the encoded mosaic that are kept."""
SHORT = 8
"""Rows of everything else that are kept."""
MARGIN = 8
"""Columns, in pairs, that a row is lengthened by on either side."""


@compiled
def mirrored(at, size):
    """The place inside that a place outside mirrors."""
    period = max(2 * (size - 1), 1)
    at = at % period
    return period - at if at >= size else at


@compiled
def split(source, first, inside, beyond, even, odd):
    """A row from ``first`` on, split by parity of the column; mirrored beyond the edges."""
    width = source.size
    for i in range(inside):
        even[i] = source[mirrored(first + 2 * i, width)]
        odd[i] = source[mirrored(first + 2 * i + 1, width)]
    if beyond > inside:
        part = source[first + 2 * inside : first + 2 * beyond]
        even_part, odd_part = even[inside:beyond], odd[inside:beyond]
        for i in range(beyond - inside):
            even_part[i] = np.float32(part[2 * i])
            odd_part[i] = np.float32(part[2 * i + 1])
    for i in range(beyond, even.size):
        even[i] = source[mirrored(first + 2 * i, width)]
        odd[i] = source[mirrored(first + 2 * i + 1, width)]


@compiled
def load(values, linear, dark, factor, row, left, floor, bend, zero, out):
    """One row from ``left`` on, linear, encoded, split by parity of the column; mirrored beyond the edges."""
    given = linear.size > 0
    height, width = linear.shape if given else values.shape
    row = mirrored(row, height)
    pairs = out.shape[1]
    first = left - 2 * MARGIN
    inside = min(max(-(first // 2), 0), pairs)
    beyond = max(min((width - first) // 2, pairs), inside)
    if given:
        split(linear[row], first, inside, beyond, out[0], out[1])
    else:
        split(values[row], first, inside, beyond, out[0], out[1])
    for k in range(2):
        low, scale, line = dark[row % 2, k], factor[row % 2, k], out[k]
        if not given:
            for i in range(pairs):
                line[i] = (line[i] - low) * scale
        encode(line, floor, bend, zero)


@compiled
def lively(own, left, right, above, below, out):
    """Difference to the next photosites of the same colour, four ways."""
    for i in range(out.size):
        value = own[i]
        across = abs(value - left[i]) + abs(value - right[i])
        out[i] = across + abs(value - above[i]) + abs(value - below[i])


@compiled
def trust_at_other(own, beside, along, floor, across_rows, along_columns):
    """How much red or blue says of green: one figure for both directions."""
    for i in range(own.size):
        measured = own[i] * np.float32(1.0 / 36.0) + floor
        wanted = (beside[i] + along[i]) * np.float32(1.0 / 48.0) + floor
        share = min(wanted / measured, np.float32(1))
        across_rows[i] = share
        along_columns[i] = share


@compiled
def trust_at_green(own, beside, along, crossing, floor, across_rows, along_columns):
    """How much green says of the colour in its row, and of the one in its column."""
    for i in range(own.size):
        measured = (own[i] + crossing[i]) * np.float32(1.0 / 52.0) + floor
        across_rows[i] = min((beside[i] * np.float32(1.0 / 24.0) + floor) / measured, np.float32(1))
        along_columns[i] = min((along[i] * np.float32(1.0 / 24.0) + floor) / measured, np.float32(1))


@compiled
def difference(sign, trust, own, before, after, far_before, far_after, out):
    """Green less the other colour along a line, bent as what is measured bends, as far as that is trusted."""
    half, quarter = np.float32(0.5), np.float32(0.25)
    for i in range(out.size):
        bend = own[i] * half - (far_before[i] + far_after[i]) * quarter
        out[i] = sign * (own[i] - ((before[i] + after[i]) * half + trust[i] * bend))


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
def settle(own, total, weight, left, right, above, below, slack, out):
    """Green at another colour, near the range of the four greens around."""
    for i in range(out.size):
        low = min(left[i], right[i], above[i], below[i])
        high = max(left[i], right[i], above[i], below[i])
        beyond = (high - low) * slack
        out[i] = min(max(own[i] + total[i] / weight[i], low - beyond), high + beyond)


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
def follow_two(s0, s1, r0, r1, green, straying, out):
    """A colour less green between two of its photosites; adds how far its slope is from 1."""
    half, one = np.float32(0.5), np.float32(1)
    for i in range(out.size):
        slope = (s0[i] + s1[i]) * half
        out[i] = slope * green[i] + (r0[i] + r1[i]) * half - green[i]
        straying[i] += abs(slope - one)


@compiled
def follow_four(slopes, rests, green, straying, out):
    """A colour less green amid four of its photosites; adds how far its slope is from 1."""
    (s0, s1, s2, s3), (r0, r1, r2, r3) = slopes, rests
    quarter, one = np.float32(0.25), np.float32(1)
    for i in range(out.size):
        slope = ((s0[i] + s1[i]) + (s2[i] + s3[i])) * quarter
        out[i] = slope * green[i] + ((r0[i] + r1[i]) + (r2[i] + r3[i])) * quarter - green[i]
        straying[i] += abs(slope - one)


@compiled
def other_parity(row, pattern):
    """Parity of the columns that are not green."""
    return 1 if pattern[row % 2, 0] == 1 else 0


@compiled
def keep(measured, dark, factor, colours, out):
    """What was measured stays as it was."""
    for k in range(2):
        low, scale, colour = dark[k], factor[k], colours[k]
        for x in range(k, measured.size, 2):
            out[x, colour] = (np.float32(measured[x]) - low) * scale


@compiled
def put_back(measured, colours, out):
    """As :func:`keep`, of what is linear already."""
    for k in range(2):
        for x in range(k, measured.size, 2):
            out[x, colours[k]] = measured[x]


@compiled
def weave(even, odd, out):
    """Lines of the even and of the odd columns as they lie in the picture."""
    for i in range(even.size):
        out[2 * i] = even[i]
        out[2 * i + 1] = odd[i]


@compiled
def sum_of_two(a, b, out):
    """Two lines summed."""
    for i in range(out.size):
        out[i] = a[i] + b[i]


@compiled
def liveliness(e, row, out):
    """How each photosite of a row differs from the next of its colour."""
    wide = e.shape[2]
    for k in range(2):
        own, s = e[row % RING, k], slice(1, wide - 1)
        above, below = e[(row - 2) % RING, k, s], e[(row + 2) % RING, k, s]
        lively(own[s], own[:-2], own[2:], above, below, out[row % SHORT, k, s])


@compiled
def trusts(n, row, pattern, floor, spare, across_rows, along_columns):
    """Trust at every photosite of a row, from sums of liveliness ``n`` over 5 x 5 photosites."""
    wide = n.shape[2]
    same, other = spare[0:2], spare[2:4]  # rows of the same kind, rows of the other kind
    s = slice(1, wide - 1)
    for k in range(2):
        sum_of_three(n[(row - 2) % SHORT, k, s], n[row % SHORT, k, s], n[(row + 2) % SHORT, k, s], same[k, s])
        sum_of_two(n[(row - 1) % SHORT, k, s], n[(row + 1) % SHORT, k, s], other[k, s])
    s = slice(2, wide - 2)
    own, beside, along, crossing = spare[4, s], spare[5, s], spare[6, s], spare[7, s]
    for k in range(2):
        sum_of_three(same[k, 1 : wide - 3], same[k, s], same[k, 3 : wide - 1], own)
        sum_of_three(other[k, 1 : wide - 3], other[k, s], other[k, 3 : wide - 1], along)
        before, after = slice(1 + k, wide - 3 + k), slice(2 + k, wide - 2 + k)
        sum_of_two(same[1 - k, before], same[1 - k, after], beside)
        if pattern[row % 2, k] == 1:
            sum_of_two(other[1 - k, before], other[1 - k, after], crossing)
            trust_at_green(own, beside, along, crossing, floor, across_rows[k, s], along_columns[k, s])
        else:
            trust_at_other(own, beside, along, floor, across_rows[k, s], along_columns[k, s])


@compiled
def differences(e, row, pattern, trust, dh, dv):
    """Green less the other colour at every photosite of a row, along the row and along the columns."""
    wide = e.shape[2]
    above, below = (row - 1) % RING, (row + 1) % RING
    far_above, far_below = (row - 2) % RING, (row + 2) % RING
    here, at = row % RING, row % SHORT
    s = slice(2, wide - 2)
    for k in range(2):
        sign = np.float32(1) if pattern[row % 2, k] == 1 else np.float32(-1)
        own, other = e[here, k], e[here, 1 - k]
        # Of an even column the neighbours are the odd ones of this pair and the last, of an odd column the
        # even ones of this pair and the next.
        before, after = other[1 + k : wide - 3 + k], other[2 + k : wide - 2 + k]
        far_before, far_after = own[1 : wide - 3], own[3 : wide - 1]
        difference(sign, trust[k, s], own[s], before, after, far_before, far_after, dh[at, k, s])
        before, after, far_before, far_after = e[above, k], e[below, k], e[far_above, k], e[far_below, k]
        difference(
            sign, trust[2 + k, s], own[s], before[s], after[s], far_before[s], far_after[s], dv[at, k, s]
        )


@compiled
def changes(dh, dv, row, spare, ch, cv):
    """Changes of both; those along columns are summed over three columns at once."""
    wide = dh.shape[2]
    here, above, below = row % SHORT, (row - 1) % SHORT, (row + 1) % SHORT
    for k in range(2):
        other = dh[here, 1 - k]
        change(other[k : wide - 2 + k], other[1 + k : wide - 1 + k], ch[here, k, 1:-1])
        change(dv[above, k], dv[below, k], spare[k])
    for k in range(2):
        other = spare[1 - k]
        before, after = other[k : wide - 2 + k], other[1 + k : wide - 1 + k]
        sum_of_three(before, spare[k, 1:-1], after, cv[here, k, 1:-1])


@compiled
def greens(e, dh, dv, ch, cv, row, pattern, settings, spare, g):
    """Green of one row: what was measured, or what four half-directions say."""
    k = other_parity(row, pattern)
    wide = e.shape[2]
    floor = settings[3]
    own_row, row_above, row_below = row % RING, (row - 1) % RING, (row + 1) % RING
    here, r1, r2 = row % SHORT, (row - 1) % SHORT, (row - 2) % SHORT
    r3, r4 = (row + 1) % SHORT, (row + 2) % SHORT
    s = slice(4, wide - 4)
    g[here, 1 - k] = e[own_row, 1 - k]
    for c in range(2):
        sum_of_three(ch[r1, c], ch[here, c], ch[r3, c], spare[c])
    total, weight = spare[2, s], spare[3, s]
    total[:] = np.float32(0)
    weight[:] = np.float32(0)
    own, other, d, beside = spare[k], spare[1 - k], dh[here, k], dh[here, 1 - k]
    before, after = slice(3 + k, wide - 5 + k), slice(4 + k, wide - 4 + k)
    far_before, far_after = slice(3, wide - 5), slice(5, wide - 3)
    weigh(own[s], other[before], own[far_before], d[s], beside[before], d[far_before], floor, total, weight)
    weigh(own[s], other[after], own[far_after], d[s], beside[after], d[far_after], floor, total, weight)
    v, d = cv[here, k, s], dv[here, k, s]
    weigh(v, cv[r1, k, s], cv[r2, k, s], d, dv[r1, k, s], dv[r2, k, s], floor, total, weight)
    weigh(v, cv[r3, k, s], cv[r4, k, s], d, dv[r3, k, s], dv[r4, k, s], floor, total, weight)
    left, right = e[own_row, 1 - k, before], e[own_row, 1 - k, after]
    above, below = e[row_above, k, s], e[row_below, k, s]
    settle(e[own_row, k, s], total, weight, left, right, above, below, settings[5], g[here, k, s])


@compiled
def slopes(e, g, row, pattern, steadiness, spare, slope, rest):
    """Slopes and remainders at the red or blue photosites of one row."""
    k = other_parity(row, pattern)
    own_row, row_above, row_below = row % RING, (row - 2) % RING, (row + 2) % RING
    here, above, below = row % SHORT, (row - 2) % SHORT, (row + 2) % SHORT
    wide = e.shape[2]
    s, t = slice(4, wide - 4), slice(5, wide - 5)
    level, light, common, spread = spare[0, s], spare[1, s], spare[2, s], spare[3, s]
    moments(
        e[row_above, k, s],
        e[own_row, k, s],
        e[row_below, k, s],
        g[above, k, s],
        g[here, k, s],
        g[below, k, s],
        level,
        light,
        common,
        spread,
    )
    own, green = e[own_row, k, t], g[here, k, t]
    slope_of(level, light, common, spread, own, green, steadiness, slope[here, t], rest[here, t])


@compiled
def tints(e, g, slope, rest, row, pattern, spare, tint, light, straying):
    """Both colours less green of a row, green, and how far slopes are from 1, as they lie in the picture."""
    k, wide = other_parity(row, pattern), e.shape[2]
    here, above, below, kept = row % SHORT, (row - 1) % SHORT, (row + 1) % SHORT, row % ROWS
    colour = pattern[row % 2, k]
    own, crossing = colour // 2, 1 - colour // 2
    found, strays = spare[:4], spare[4:6]  # found: own and crossing, of each parity
    s = slice(6, wide - 6)
    strays[:] = np.float32(0)
    measured(e[row % RING, k, s], g[here, k, s], slope[here, s], strays[k, s], found[2 * k + own, s])
    b, a = slice(5 + k, wide - 7 + k), slice(6 + k, wide - 6 + k)
    slope_around = slope[above, b], slope[above, a], slope[below, b], slope[below, a]
    rest_around = rest[above, b], rest[above, a], rest[below, b], rest[below, a]
    follow_four(slope_around, rest_around, g[here, k, s], strays[k, s], found[2 * k + crossing, s])
    o = 1 - k
    b, a = slice(6 - k, wide - 6 - k), slice(7 - k, wide - 5 - k)
    slopes_two, rests_two = (slope[here, b], slope[here, a]), (rest[here, b], rest[here, a])
    green, at_own, at_crossing = g[here, o, s], found[2 * o + own, s], found[2 * o + crossing, s]
    follow_two(slopes_two[0], slopes_two[1], rests_two[0], rests_two[1], green, strays[o, s], at_own)
    follow_two(
        slope[above, s], slope[below, s], rest[above, s], rest[below, s], green, strays[o, s], at_crossing
    )
    weave(found[0], found[2], tint[0, kept])
    weave(found[1], found[3], tint[1, kept])
    weave(g[here, 0], g[here, 1], light[kept])
    weave(strays[0], strays[1], straying[kept])


def demosaic_tile(*given):
    """Write a tile; takes what :func:`write_tile` does after its first argument."""
    write_tile(SETTINGS, *given)


@compiled
def write_tile(
    false_colour, values, linear, dark, factor, pattern, settings, top, bottom, left, right, out, down, across
):
    """Write rows ``top`` to ``bottom``, columns ``left`` to ``right``; ``left`` is even.

    ``out`` begins at row ``down`` and column ``across`` of the mosaic. ``values`` less ``dark``, times
    ``factor``, are linear; these two are as large as the pattern. Or ``linear`` is there, and is taken.

    ``settings`` are the encoding's floor, bend and value at zero, the floor of variations, the steadiness of
    slopes, the slack of green, and the floor of liveliness; ``false_colour`` those of taking that out.
    """
    n = (right - left + 1) // 2
    wide = n + 2 * MARGIN
    e, g = np.zeros((RING, 2, wide), np.float32), np.zeros((SHORT, 2, wide), np.float32)
    moving = np.zeros((SHORT, 2, wide), np.float32)
    dh, dv = np.zeros((SHORT, 2, wide), np.float32), np.zeros((SHORT, 2, wide), np.float32)
    ch, cv = np.zeros((SHORT, 2, wide), np.float32), np.zeros((SHORT, 2, wide), np.float32)
    slope, rest = np.zeros((SHORT, wide), np.float32), np.zeros((SHORT, wide), np.float32)
    spare, trust = np.zeros((8, wide), np.float32), np.zeros((4, wide), np.float32)
    tint, lines = np.zeros((2, ROWS, 2 * wide), np.float32), np.zeros((7, 2 * wide), np.float32)
    light, straying = np.zeros((ROWS, 2 * wide), np.float32), np.zeros((ROWS, 2 * wide), np.float32)
    own, first = repeated(pattern, right - left), top - SPACING
    never = np.zeros(right - left, np.float32)  # green is well known here
    for row in range(first - 20, bottom + SPACING):
        # Each step works on the row for which all it needs is there; rows too far up are left out.
        place = e[(row + 10) % RING]
        load(values, linear, dark, factor, row + 10, left, settings[0], settings[1], settings[2], place)
        if row >= first - 16:
            liveliness(e, row + 8, moving)
        if row >= first - 12:
            trusts(moving, row + 6, pattern, settings[6], spare, trust[:2], trust[2:])
            differences(e, row + 6, pattern, trust, dh, dv)
        if row >= first - 10:
            changes(dh, dv, row + 5, spare, ch, cv)
        if row >= first - 6:
            greens(e, dh, dv, ch, cv, row + 3, pattern, settings, spare, g)
        if row >= first - 2:
            slopes(e, g, row + 1, pattern, settings[4], spare, slope, rest)
        if row >= first:
            tints(e, g, slope, rest, row, pattern, spare, tint, light, straying)
        done = row - SPACING
        if done >= top:
            line, k = out[done - down, left - across : right - across], done % 2
            refine(
                tint, light, straying, never, done, 2 * MARGIN, own[k], settings, false_colour, lines, line
            )
            if linear.size > 0:
                put_back(linear[done, left:right], pattern[k], line)
            else:
                keep(values[done, left:right], dark[k], factor[k], pattern[k], line)
