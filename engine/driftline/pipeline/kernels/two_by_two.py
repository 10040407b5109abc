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
from driftline.pipeline.kernels.encoding import encoded
from driftline.pipeline.kernels.false_colour import ROWS, SETTINGS, SPACING, refine, repeated

RING = 16
"""Rows of the encoded mosaic that are kept."""
SHORT = 8
"""Rows of everything else that are kept."""
MARGIN = 8
"""Columns, in pairs, that a row is lengthened by on either side."""
PAD = 16
"""Places before and after that, never written: so every loop over a row can run over the same places, which
begin where a vector does. What a loop makes of the zeros out there reaches into the margin only."""


@compiled
def mirrored(at, size):
    """The place inside that a place outside mirrors."""
    period = max(2 * (size - 1), 1)
    at = at % period
    return period - at if at >= size else at


@compiled
def encoded_linear(value, low, scale, floor, bend, zero):
    """A sensor's value, linear and encoded."""
    return encoded((np.float32(value) - low) * scale, floor, bend, zero)


@compiled
def split(source, dark, factor, first, floor, bend, zero, even, odd):
    """A row from ``first`` on, linear, encoded, split by parity of the column; mirrored beyond the edges."""
    width, pairs = source.size, even.size
    low0, low1, scale0, scale1 = dark[0], dark[1], factor[0], factor[1]
    inside = min(max(-(first // 2), 0), pairs)
    beyond = max(min((width - first) // 2, pairs), inside)
    part, even_part, odd_part = source[first + 2 * inside :], even[inside:beyond], odd[inside:beyond]
    for i in range(even_part.size):
        even_part[i] = encoded_linear(part[2 * i], low0, scale0, floor, bend, zero)
        odd_part[i] = encoded_linear(part[2 * i + 1], low1, scale1, floor, bend, zero)
    for ends in ((0, inside), (beyond, pairs)):
        for i in range(ends[0], ends[1]):
            x = first + 2 * i
            even[i] = encoded_linear(source[mirrored(x, width)], low0, scale0, floor, bend, zero)
            odd[i] = encoded_linear(source[mirrored(x + 1, width)], low1, scale1, floor, bend, zero)


@compiled
def load(values, linear, dark, factor, row, left, floor, bend, zero, out):
    """One row of the sensor's values, or of what is linear, from ``left`` less the margin on."""
    given = linear.size > 0
    height, k, first = linear.shape[0] if given else values.shape[0], row % 2, left - 2 * MARGIN
    row = mirrored(row, height)
    even, odd = out[0, PAD : out.shape[1] - PAD], out[1, PAD : out.shape[1] - PAD]
    if given:
        split(linear[row], dark[k], factor[k], first, floor, bend, zero, even, odd)
    else:
        split(values[row], dark[k], factor[k], first, floor, bend, zero, even, odd)


@compiled
def lively(own, above, below, before, last, out, same, other):
    """Difference to the next photosites of the same colour, four ways; ``own`` begins a place before.

    ``same`` is its sum with that of the rows two and four above, ``last`` and ``before``; ``other`` with that
    of ``last`` alone.
    """
    for i in range(out.size):
        value = own[i + 1]
        across = abs(value - own[i]) + abs(value - own[i + 2])
        here = across + abs(value - above[i]) + abs(value - below[i])
        out[i] = here
        same[i] = before[i] + last[i] + here
        other[i] = last[i] + here


@compiled
def bent(sign, trust, own, before, after, far_before, far_after):
    """Green less the other colour along a line, bent as what is measured bends, as far as that is trusted."""
    half, quarter = np.float32(0.5), np.float32(0.25)
    bend = own * half - (far_before + far_after) * quarter
    return sign * (own - ((before + after) * half + trust * bend))


@compiled
def differences_at_other(sums, own, beside, above, below, far_above, far_below, floor, dh, dv):
    """Differences where red or blue was measured, which says as much of green in both directions.

    Lines with neighbours begin at the first one: here ``own`` and the sums of its columns a place before.
    """
    same, other, same_beside = sums[0], sums[1], sums[2]
    for i in range(dh.size):
        lively = same[i] + same[i + 1] + same[i + 2]
        along = other[i] + other[i + 1] + other[i + 2]
        wanted = ((same_beside[i] + same_beside[i + 1]) + along) * np.float32(1.0 / 48.0) + floor
        trust = min(wanted / (lively * np.float32(1.0 / 36.0) + floor), np.float32(1))
        value, less = own[i + 1], np.float32(-1)
        dh[i] = bent(less, trust, value, beside[i], beside[i + 1], own[i], own[i + 2])
        dv[i] = bent(less, trust, value, above[i], below[i], far_above[i], far_below[i])


@compiled
def differences_at_green(sums, own, beside, above, below, far_above, far_below, floor, dh, dv):
    """Differences where green was measured, which says something else of the colour in its row and column."""
    same, other, same_beside, other_beside = sums
    for i in range(dh.size):
        crossing = other_beside[i] + other_beside[i + 1]
        lively = ((same[i] + same[i + 1] + same[i + 2]) + crossing) * np.float32(1.0 / 52.0) + floor
        across = (same_beside[i] + same_beside[i + 1]) * np.float32(1.0 / 24.0) + floor
        along = (other[i] + other[i + 1] + other[i + 2]) * np.float32(1.0 / 24.0) + floor
        in_row, in_column = min(across / lively, np.float32(1)), min(along / lively, np.float32(1))
        value, more = own[i + 1], np.float32(1)
        dh[i] = bent(more, in_row, value, beside[i], beside[i + 1], own[i], own[i + 2])
        dv[i] = bent(more, in_column, value, above[i], below[i], far_above[i], far_below[i])


@compiled
def change(beside, above, below, above_beside, below_beside, before, last, ch, across, cv):
    """How much differences change from one neighbour to the other, summed over three across their direction.

    Those along columns are in ``cv``. Those along rows are in ``ch``, and ``across`` is the sum of them and
    of the two rows above, ``last`` and ``before``.
    """
    for i in range(ch.size):
        here = abs(beside[i + 1] - beside[i])
        ch[i] = here
        across[i] = before[i] + last[i] + here
        left, right = abs(below_beside[i] - above_beside[i]), abs(below_beside[i + 1] - above_beside[i + 1])
        cv[i] = left + abs(below[i] - above[i]) + right


@compiled
def weighed(v0, v1, v2, d0, d1, d2, floor):
    """Difference and weight of a half-direction, the inverse cube of its variation; 0 is here, 2 farthest."""
    half, quarter, one = np.float32(0.5), np.float32(0.25), np.float32(1)
    variation = v0 + v1 + v2 + floor
    there = d0 * half + (d1 + d2) * quarter
    share = one / (variation * variation * variation)
    return share * there, share


@compiled
def settle(h, h_beside, dh, dh_beside, v, dv, own, beside, above, below, floor, slack, out):
    """Green at another colour: what four half-directions say, near the range of the four greens around."""
    (v0, v1, v2, v3, v4), (d0, d1, d2, d3, d4) = v, dv  # from the farthest above to the farthest below
    for i in range(out.size):
        left, a = weighed(h[i + 1], h_beside[i], h[i], dh[i + 1], dh_beside[i], dh[i], floor)
        right, b = weighed(h[i + 1], h_beside[i + 1], h[i + 2], dh[i + 1], dh_beside[i + 1], dh[i + 2], floor)
        up, c = weighed(v2[i], v1[i], v0[i], d2[i], d1[i], d0[i], floor)
        down, d = weighed(v2[i], v3[i], v4[i], d2[i], d3[i], d4[i], floor)
        difference = (np.float32(0) + left + right + up + down) / (a + b + c + d)
        low = min(beside[i], beside[i + 1], above[i], below[i])
        high = max(beside[i], beside[i + 1], above[i], below[i])
        beyond = (high - low) * slack
        out[i] = min(max(own[i] + difference, low - beyond), high + beyond)


@compiled
def moments(m0, m1, m2, g0, g1, g2, level, light, common, spread):
    """Sums down three rows of a colour's photosites, of its values, green, and their products."""
    for i in range(level.size):
        level[i] = m0[i] + m1[i] + m2[i]
        light[i] = g0[i] + g1[i] + g2[i]
        common[i] = m0[i] * g0[i] + m1[i] * g1[i] + m2[i] * g2[i]
        spread[i] = g0[i] * g0[i] + g1[i] * g1[i] + g2[i] * g2[i]


@compiled
def slope_of(level, light, common, spread, own, green, steadiness, slope, rest):
    """Slope of a colour against green over 3 x 3 of its photosites, and what remains."""
    ninth = np.float32(1.0 / 9.0)
    n = slope.size
    for i in range(n):
        mean = (level[i] + level[i + 1] + level[i + 2]) * ninth
        shine = (light[i] + light[i + 1] + light[i + 2]) * ninth
        both = (common[i] + common[i + 1] + common[i + 2]) * ninth - mean * shine
        square = (spread[i] + spread[i + 1] + spread[i + 2]) * ninth - shine * shine
        value = (both + steadiness) / (square + steadiness)
        slope[i] = value
        rest[i] = own[i] - value * green[i]


@compiled
def by_column(k, at, beside):
    """What is at parity ``k`` and what is beside it, the even column's first."""
    return (at, beside) if k == 0 else (beside, at)


@compiled
def follow(own, green, green_beside, slopes, rests, k, tint_own, tint_crossing, light, straying):
    """Both colours less green of a row, green, and how far slopes are from 1, as they lie in the picture.

    A colour follows green as it does at its photosites around. Where one was measured, at parity ``k``, the
    other has four; beside it each has two. ``slopes`` are lines of where it was measured, the two beside,
    the two above and below those, and above and below; ``rests`` are the same but the first.
    """
    half, quarter, one = np.float32(0.5), np.float32(0.25), np.float32(1)
    slope, beside, above_beside, below_beside, above, below = slopes
    rest, rest_above_beside, rest_below_beside, rest_above, rest_below = rests
    for i in range(own.size):
        four = ((above_beside[i] + above_beside[i + 1]) + (below_beside[i] + below_beside[i + 1])) * quarter
        left = rest_above_beside[i] + rest_above_beside[i + 1]
        left = (left + (rest_below_beside[i] + rest_below_beside[i + 1])) * quarter
        own_k, crossing_k = own[i] - green[i], four * green[i] + left - green[i]
        strays_k = abs(slope[i] - one) + abs(four - one)
        across, along = (beside[i] + beside[i + 1]) * half, (above[i] + below[i]) * half
        own_o = across * green_beside[i] + (rest[i] + rest[i + 1]) * half - green_beside[i]
        crossing_o = along * green_beside[i] + (rest_above[i] + rest_below[i]) * half - green_beside[i]
        strays_o = abs(across - one) + abs(along - one)
        tint_own[2 * i], tint_own[2 * i + 1] = by_column(k, own_k, own_o)
        tint_crossing[2 * i], tint_crossing[2 * i + 1] = by_column(k, crossing_k, crossing_o)
        light[2 * i], light[2 * i + 1] = by_column(k, green[i], green_beside[i])
        straying[2 * i], straying[2 * i + 1] = by_column(k, strays_k, strays_o)


@compiled
def other_parity(row, pattern):
    """Parity of the columns that are not green."""
    return 1 if pattern[row % 2, 0] == 1 else 0


@compiled
def linearise(values, dark, factor, out):
    """A row as it was measured, linear."""
    for i in range(out.size):
        out[i] = (np.float32(values[i]) - dark[i]) * factor[i]


@compiled
def liveliness(e, row, n, same, other):
    """How each photosite of a row differs from the next of its colour; sums over rows, as they get complete.

    Of each row, ``same`` is the sum of it and the two of its kind around, ``other`` of the two beside it.
    """
    wide = e.shape[2]
    s, here, last, before = slice(PAD, wide - PAD), row % SHORT, (row - 2) % SHORT, (row - 4) % SHORT
    for k in range(2):
        lively(
            e[row % RING, k, PAD - 1 : wide - PAD + 1],
            e[(row - 2) % RING, k, s],
            e[(row + 2) % RING, k, s],
            n[before, k, s],
            n[last, k, s],
            n[here, k, s],
            same[last, k, s],
            other[(row - 1) % SHORT, k, s],
        )


@compiled
def differences(e, same, other, row, pattern, floor, dh, dv):
    """Green less the other colour at every photosite of a row, along the row and along the columns.

    Of an even column the neighbours are the odd ones of this pair and the last, of an odd column the even
    ones of this pair and the next.
    """
    wide, at = e.shape[2], row % SHORT
    s, before = slice(PAD, wide - PAD), slice(PAD - 1, wide - PAD + 1)
    here, above, below = row % RING, (row - 1) % RING, (row + 1) % RING
    far_above, far_below = (row - 2) % RING, (row + 2) % RING
    for k in range(2):
        beside = slice(PAD - 1 + k, wide - PAD + k)
        sums = same[at, k, before], other[at, k, before], same[at, 1 - k, beside], other[at, 1 - k, beside]
        own, next_to = e[here, k, before], e[here, 1 - k, beside]
        up, down, far_up, far_down = e[above, k, s], e[below, k, s], e[far_above, k, s], e[far_below, k, s]
        across, along = dh[at, k, s], dv[at, k, s]
        if pattern[row % 2, k] == 1:
            differences_at_green(sums, own, next_to, up, down, far_up, far_down, floor, across, along)
        else:
            differences_at_other(sums, own, next_to, up, down, far_up, far_down, floor, across, along)


@compiled
def changes(dh, dv, row, ch, across, cv):
    """Changes of both, and those along rows summed down the three around the row before, in ``across``."""
    wide = dh.shape[2]
    here, above, below = row % SHORT, (row - 1) % SHORT, (row + 1) % SHORT
    s, before = slice(PAD, wide - PAD), (row - 2) % SHORT
    for k in range(2):
        o, beside = 1 - k, slice(PAD - 1 + k, wide - PAD + k)
        change(
            dh[here, o, beside],
            dv[above, k, s],
            dv[below, k, s],
            dv[above, o, beside],
            dv[below, o, beside],
            ch[before, k, s],
            ch[above, k, s],
            ch[here, k, s],
            across[above, k, s],
            cv[here, k, s],
        )


@compiled
def greens(e, dh, dv, across, cv, row, pattern, settings, g):
    """Green of one row where another colour was measured: what four half-directions say."""
    k = other_parity(row, pattern)
    o, wide = 1 - k, e.shape[2]
    own, above, below = row % RING, (row - 1) % RING, (row + 1) % RING
    here, r1, r2 = row % SHORT, (row - 1) % SHORT, (row - 2) % SHORT
    r3, r4 = (row + 1) % SHORT, (row + 2) % SHORT
    s, before = slice(PAD, wide - PAD), slice(PAD - 1, wide - PAD + 1)
    beside = slice(PAD - 1 + k, wide - PAD + k)
    settle(
        across[here, k, before],
        across[here, o, beside],
        dh[here, k, before],
        dh[here, o, beside],
        (cv[r2, k, s], cv[r1, k, s], cv[here, k, s], cv[r3, k, s], cv[r4, k, s]),
        (dv[r2, k, s], dv[r1, k, s], dv[here, k, s], dv[r3, k, s], dv[r4, k, s]),
        e[own, k, s],
        e[own, o, beside],
        e[above, k, s],
        e[below, k, s],
        settings[3],
        settings[5],
        g[here, s],
    )


@compiled
def slopes(e, g, row, pattern, steadiness, spare, slope, rest):
    """Slopes and remainders at the red or blue photosites of one row."""
    k = other_parity(row, pattern)
    own_row, row_above, row_below = row % RING, (row - 2) % RING, (row + 2) % RING
    here, above, below = row % SHORT, (row - 2) % SHORT, (row + 2) % SHORT
    wide = e.shape[2]
    s, before = slice(PAD, wide - PAD), slice(PAD - 1, wide - PAD + 1)
    moments(
        e[row_above, k, s],
        e[own_row, k, s],
        e[row_below, k, s],
        g[above, s],
        g[here, s],
        g[below, s],
        spare[0, s],
        spare[1, s],
        spare[2, s],
        spare[3, s],
    )
    slope_of(
        spare[0, before],
        spare[1, before],
        spare[2, before],
        spare[3, before],
        e[own_row, k, s],
        g[here, s],
        steadiness,
        slope[here, s],
        rest[here, s],
    )


@compiled
def tints(e, g, slope, rest, row, pattern, tint, light, straying):
    """Both colours less green of a row, green, and how far slopes are from 1, as they lie in the picture."""
    k, wide = other_parity(row, pattern), e.shape[2]
    here, above, below, kept = row % SHORT, (row - 1) % SHORT, (row + 1) % SHORT, row % ROWS
    own = pattern[row % 2, k] // 2
    s, out = slice(PAD, wide - PAD), slice(2 * PAD, 2 * (wide - PAD))
    diagonal, beside = slice(PAD - 1 + k, wide - PAD + k), slice(PAD - k, wide - PAD + 1 - k)
    follow(
        e[row % RING, k, s],
        g[here, s],
        e[row % RING, 1 - k, s],
        (
            slope[here, s],
            slope[here, beside],
            slope[above, diagonal],
            slope[below, diagonal],
            slope[above, s],
            slope[below, s],
        ),
        (rest[here, beside], rest[above, diagonal], rest[below, diagonal], rest[above, s], rest[below, s]),
        k,
        tint[own, kept, out],
        tint[1 - own, kept, out],
        light[kept, out],
        straying[kept, out],
    )


def demosaic_tile(*given):
    """Write a tile; takes what :func:`write_tile` does after its first argument."""
    write_tile(SETTINGS, *given)


@compiled
def write_tile(
    false_colour, values, linear, dark, factor, pattern, settings, top, bottom, left, right, out, down, across
):
    """Write rows ``top`` to ``bottom``, columns ``left`` to ``right``; ``left`` is even.

    ``out`` begins at row ``down`` and column ``across`` of the mosaic. ``values`` less ``dark``, times
    ``factor``, are linear; these two are as large as the pattern. Or ``linear`` is there, and is taken, with
    ``dark`` 0 and ``factor`` 1.

    ``settings`` are the encoding's floor, bend and value at zero, the floor of variations, the steadiness of
    slopes, the slack of green, and the floor of liveliness; ``false_colour`` those of taking that out.
    """
    n = (right - left + 1) // 2
    wide = n + 2 * MARGIN + 2 * PAD
    e, g = np.zeros((RING, 2, wide), np.float32), np.zeros((SHORT, wide), np.float32)
    moving = np.zeros((SHORT, 2, wide), np.float32)
    same, other = np.zeros((SHORT, 2, wide), np.float32), np.zeros((SHORT, 2, wide), np.float32)
    dh, dv = np.zeros((SHORT, 2, wide), np.float32), np.zeros((SHORT, 2, wide), np.float32)
    ch, cv = np.zeros((SHORT, 2, wide), np.float32), np.zeros((SHORT, 2, wide), np.float32)
    crossing, spare = np.zeros((SHORT, 2, wide), np.float32), np.zeros((4, wide), np.float32)
    slope, rest = np.zeros((SHORT, wide), np.float32), np.zeros((SHORT, wide), np.float32)
    tint, lines = np.zeros((2, ROWS, 2 * wide), np.float32), np.zeros((8, 2 * wide), np.float32)
    light, straying = np.zeros((ROWS, 2 * wide), np.float32), np.zeros((ROWS, 2 * wide), np.float32)
    columns, first = right - left, top - SPACING
    own, flat = repeated(pattern.astype(np.int32), columns), out.reshape(out.shape[0], 3 * out.shape[1])
    darks, factors, kept = repeated(dark, columns), repeated(factor, columns), np.empty(columns, np.float32)
    never = np.zeros(columns, np.float32)  # green is well known here
    for row in range(first - 20, bottom + SPACING):
        # Each step works on the row for which all it needs is there; rows too far up are left out.
        place = e[(row + 10) % RING]
        load(values, linear, dark, factor, row + 10, left, settings[0], settings[1], settings[2], place)
        if row >= first - 16:
            liveliness(e, row + 8, moving, same, other)
        if row >= first - 12:
            differences(e, same, other, row + 6, pattern, settings[6], dh, dv)
        if row >= first - 10:
            changes(dh, dv, row + 5, ch, crossing, cv)
        if row >= first - 6:
            greens(e, dh, dv, crossing, cv, row + 3, pattern, settings, g)
        if row >= first - 2:
            slopes(e, g, row + 1, pattern, settings[4], spare, slope, rest)
        if row >= first:
            tints(e, g, slope, rest, row, pattern, tint, light, straying)
        done = row - SPACING
        if done >= top:
            k, line = done % 2, flat[done - down, 3 * (left - across) : 3 * (right - across)]
            if linear.size > 0:
                linearise(linear[done, left:right], darks[k], factors[k], kept)
            else:
                linearise(values[done, left:right], darks[k], factors[k], kept)
            refine(
                tint,
                light,
                straying,
                never,
                done,
                2 * (PAD + MARGIN),
                own[k],
                kept,
                settings,
                false_colour,
                lines,
                line,
            )
