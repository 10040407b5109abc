# mypy: disallow-untyped-defs=False, disallow-untyped-calls=False
# (numba finds the types of compiled functions out by itself)
"""Compiled taking out of false colour; the reference is :mod:`driftline.stages.demosaic_false_colour`.

Here rows lie as they are in the picture, in rings of the last few. Nine values in a square are put in order
by sorting the columns, shared by three squares, and then each level of them: of a table so sorted the third,
fifth and seventh of nine can be told from a few.
"""

from __future__ import annotations

import numpy as np

from driftline.pipeline.kernels.compilation import compiled
from driftline.pipeline.kernels.encoding import decode
from driftline.stages import demosaic_false_colour as reference

SPACING = 3
"""The reference's; known when this is compiled, so that the loops vectorise."""

ROWS = 2 * SPACING + 1
"""Rows of colour differences that must be there."""

SPREAD = 3
REACH = SPREAD + 1
"""The reference's, known for the same reason."""

SIDE = 2 * SPREAD + 1

WIDER_ROWS = 2 * REACH + 1
"""Rows that must be there where alternation is told."""

SETTINGS = np.array(
    [
        reference.DISCORD,
        reference.STRAYING,
        reference.FAINT,
        reference.LEAST,
        reference.LENIENCY,
        SIDE * SIDE * reference.ALTERNATING,
        reference.MOST,
    ],
    dtype=np.float32,
)
"""Handed to the kernels, for what is compiled in would stay when it changes."""


@compiled
def sort_columns(above, here, below, low, middle, high):
    """Three values above each other, in order."""
    for i in range(low.size):
        a, b, c = above[i], here[i], below[i]
        less, more = min(a, b), max(a, b)
        rest = min(more, c)
        low[i] = min(less, rest)
        middle[i] = max(less, rest)
        high[i] = max(more, c)


@compiled
def order(low, middle, high, median, discord):
    """Median of nine by columns in order; the third's distance to the seventh is added to ``discord``."""
    for i in range(median.size):
        # The greater two of the least, all of the middling, the lesser two of the greatest.
        a, b, c = low[i], low[i + SPACING], low[i + 2 * SPACING]
        less, more = min(a, b), max(a, b)
        greatest_low, middle_low = max(more, c), max(less, min(more, c))
        a, b, c = middle[i], middle[i + SPACING], middle[i + 2 * SPACING]
        less, more = min(a, b), max(a, b)
        rest = min(more, c)
        least_middle, middling, greatest_middle = min(less, rest), max(less, rest), max(more, c)
        a, b, c = high[i], high[i + SPACING], high[i + 2 * SPACING]
        less, more = min(a, b), max(a, b)
        least_high, middle_high = min(less, c), max(less, min(more, c))
        third = min(max(middle_low, least_middle), greatest_low, least_high)
        seventh = max(min(middle_high, greatest_middle), least_high, greatest_low)
        discord[i] += seventh - third
        less, more = min(greatest_low, least_high), max(greatest_low, least_high)
        median[i] = max(less, min(more, middling))


@compiled
def column_range(above, here, below, low, high):
    """Least and greatest of three values above each other."""
    for i in range(low.size):
        low[i] = min(above[i], here[i], below[i])
        high[i] = max(above[i], here[i], below[i])


@compiled
def departures(light, row, departure):
    """How far each value of a row is from the mean of its four neighbours; zero at both ends."""
    ring, quarter = light.shape[0], np.float32(0.25)
    above, here, below = light[(row - 1) % ring], light[row % ring], light[(row + 1) % ring]
    out = departure[row % ring]
    for i in range(1, out.size - 1):
        out[i] = abs(here[i] - (above[i] + below[i] + here[i - 1] + here[i + 1]) * quarter)


@compiled
def add(value, total):
    """Add a line to another."""
    for i in range(total.size):
        total[i] += value[i]


@compiled
def widen(value, low, high):
    """Make room for a value in a range."""
    for i in range(low.size):
        low[i] = min(low[i], value[i])
        high[i] = max(high[i], value[i])


@compiled
def alternate(total, low, high, settings, out):
    """Whether green alternates, from sums and ranges down columns that begin ``REACH`` places before."""
    one = np.float32(1)
    for i in range(out.size):
        departure, least, greatest = total[i + 1], low[i], high[i]
        for j in range(2, SIDE + 1):
            departure += total[i + j]
        for j in range(1, SIDE + 2):
            least = min(least, low[i + j])
            greatest = max(greatest, high[i + j])
        ratio = min(departure / (max(greatest - least, settings[2]) * settings[5]), settings[6])
        ratio = ratio * ratio
        ratio = ratio * ratio
        ratio = ratio * ratio
        ratio = ratio * ratio
        out[i] = ratio / (one + ratio)


@compiled
def alternation(light, departure, row, first, settings, spare, out):
    """The reference's, of one row; ``light`` and ``departure`` are (ring, wide)."""
    ring, s, n = light.shape[0], slice(first - REACH, first + out.size + REACH), out.size + 2 * REACH
    total, low, high = spare[0, :n], spare[1, :n], spare[2, :n]
    total[:] = np.float32(0)
    for near in range(row - SPREAD, row + SPREAD + 1):
        add(departure[near % ring, s], total)
    low[:] = light[row % ring, s]
    high[:] = low
    for near in range(row - REACH, row + REACH + 1):
        widen(light[near % ring, s], low, high)
    alternate(total, low, high, settings, out)


@compiled
def shares(low, high, discord, straying, alternating, settings, share):
    """How far the median is followed; ``low`` and ``high`` begin one place before."""
    one = np.float32(1)
    for i in range(share.size):
        least = min(low[i], low[i + 1], low[i + 2])
        greatest = max(high[i], high[i + 1], high[i + 2])
        lively = max(greatest - least - settings[2], settings[3])
        counts = one - settings[4] * alternating[i]
        at_odds, strays = discord[i] * settings[0] * counts, straying[i] * settings[1] * counts
        lively, at_odds, strays = lively * lively, at_odds * at_odds, strays * strays
        lively = lively * lively
        share[i] = lively / ((lively + at_odds * at_odds) * (one + strays * strays))


@compiled
def draw(share, median, difference):
    """Draw differences to the median; ``median`` becomes what they end as."""
    for i in range(share.size):
        median[i] = difference[i] + share[i] * (median[i] - difference[i])


@compiled
def repeated(pattern, width):
    """Colours of so many columns."""
    out = np.empty((pattern.shape[0], width), np.int64)
    for i in range(width):
        out[:, i] = pattern[:, i % pattern.shape[1]]
    return out


@compiled
def missing(own, light, first_red, first_blue, red, blue):
    """What a photosite did not measure: red and blue, or green in the place of its own colour."""
    for i in range(own.size):
        green = light[i]
        if own[i] == 0:
            green += first_red[i] - red[i]
        if own[i] == 2:
            green += first_blue[i] - blue[i]
        red[i] = green if own[i] == 0 else green + red[i]
        blue[i] = green if own[i] == 2 else green + blue[i]


@compiled
def refine(tint, light, straying, alternating, row, first, own, encoding, settings, spare, out):
    """The two channels of one row that were not measured.

    ``tint`` (2, ring, wide), ``light`` and ``straying`` (ring, wide) are encoded differences, green, and how
    far slopes are from 1; ``first`` is the place in them of ``out[0]``. ``alternating`` (n or more) is what
    :func:`alternation` gives, or zero. ``own`` are the colours of the row.
    """
    n, ring = out.shape[0], light.shape[0]
    here, last, wider = row % ring, first + n, slice(first - SPACING, first + n + SPACING)
    above, below = (row - SPACING) % ring, (row + SPACING) % ring
    low, middle, high = spare[0, : n + 2 * SPACING], spare[1, : n + 2 * SPACING], spare[2, : n + 2 * SPACING]
    red, blue, discord, share = spare[3, :n], spare[4, :n], spare[5, :n], spare[6, :n]
    discord[:] = np.float32(0)
    sort_columns(tint[0, above, wider], tint[0, here, wider], tint[0, below, wider], low, middle, high)
    order(low, middle, high, red, discord)
    sort_columns(tint[1, above, wider], tint[1, here, wider], tint[1, below, wider], low, middle, high)
    order(low, middle, high, blue, discord)
    near = slice(first - 1, last + 1)
    column_range(
        light[(row - 1) % ring, near],
        light[here, near],
        light[(row + 1) % ring, near],
        low[: n + 2],
        high[: n + 2],
    )
    shares(low, high, discord, straying[here, first:last], alternating, settings, share)
    first_red, first_blue = tint[0, here, first:last], tint[1, here, first:last]
    draw(share, red, first_red)
    draw(share, blue, first_blue)
    missing(own, light[here, first:last], first_red, first_blue, red, blue)
    decode(red, encoding[0], encoding[1], encoding[2])
    decode(blue, encoding[0], encoding[1], encoding[2])
    for i in range(n):
        out[i, 0] = red[i]
        out[i, 1] = red[i] if own[i] == 0 else blue[i]
        out[i, 2] = blue[i]
