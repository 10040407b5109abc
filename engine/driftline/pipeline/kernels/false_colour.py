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
from driftline.pipeline.kernels.encoding import decoded
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
def median_and_discord(low, middle, high, i):
    """Median of nine, by columns in order of which the first is at ``i``; from the third to the seventh."""
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
    less, more = min(greatest_low, least_high), max(greatest_low, least_high)
    third, seventh = min(max(middle_low, least_middle), less), max(min(middle_high, greatest_middle), more)
    return max(less, min(more, middling)), seventh - third


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
def share_of(lively, discord, straying, alternating, settings):
    """How far the median is followed; ``lively`` is the range of green around."""
    one = np.float32(1)
    lively = max(lively - settings[2], settings[3])
    counts = one - settings[4] * alternating
    at_odds, strays = discord * settings[0] * counts, straying * settings[1] * counts
    lively, at_odds, strays = lively * lively, at_odds * at_odds, strays * strays
    lively = lively * lively
    return lively / ((lively + at_odds * at_odds) * (one + strays * strays))


@compiled
def repeated(pattern, width):
    """The rows of a pattern, so many columns wide."""
    out = np.empty((pattern.shape[0], width), pattern.dtype)
    for i in range(width):
        out[:, i] = pattern[:, i % pattern.shape[1]]
    return out


@compiled
def complete(
    sorted_red,
    sorted_blue,
    ranges,
    first_red,
    first_blue,
    light,
    straying,
    alternating,
    own,
    measured,
    encoding,
    settings,
    out,
):
    """All channels of one row: differences drawn to their median, and what was measured.

    Columns in order begin ``SPACING`` before, those of ``ranges`` one place before.
    """
    (red0, red1, red2), (blue0, blue1, blue2), (low, high) = sorted_red, sorted_blue, ranges
    for i in range(own.size):
        median_red, discord_red = median_and_discord(red0, red1, red2, i)
        median_blue, discord_blue = median_and_discord(blue0, blue1, blue2, i)
        lively = max(high[i], high[i + 1], high[i + 2]) - min(low[i], low[i + 1], low[i + 2])
        share = share_of(lively, discord_red + discord_blue, straying[i], alternating[i], settings)
        red = first_red[i] + share * (median_red - first_red[i])
        blue = first_blue[i] + share * (median_blue - first_blue[i])
        # A photosite misses red and blue, or green in the place of its own colour.
        green = light[i]
        green = green + (first_red[i] - red) if own[i] == 0 else green
        green = green + (first_blue[i] - blue) if own[i] == 2 else green
        red = decoded(green if own[i] == 0 else green + red, encoding[0], encoding[1], encoding[2])
        blue = decoded(green if own[i] == 2 else green + blue, encoding[0], encoding[1], encoding[2])
        other = red if own[i] == 0 else blue
        out[3 * i] = measured[i] if own[i] == 0 else red
        out[3 * i + 1] = measured[i] if own[i] == 1 else other
        out[3 * i + 2] = measured[i] if own[i] == 2 else blue


@compiled
def refine(tint, light, straying, alternating, row, first, own, measured, encoding, settings, spare, out):
    """All channels of one row, ``out`` (3 n), one pixel after the other.

    ``tint`` (2, ring, wide), ``light`` and ``straying`` (ring, wide) are encoded differences, green, and how
    far slopes are from 1; ``first`` is the place in them of the first pixel. ``alternating`` (n or more) is
    what :func:`alternation` gives, or zero. ``own`` (n) are the colours of the row, ``measured`` (n) what was
    measured, linear.
    """
    n, ring = own.size, light.shape[0]
    here, last, wider = row % ring, first + n, slice(first - SPACING, first + n + SPACING)
    above, below = (row - SPACING) % ring, (row + SPACING) % ring
    m = n + 2 * SPACING
    red = spare[0, :m], spare[1, :m], spare[2, :m]
    sort_columns(tint[0, above, wider], tint[0, here, wider], tint[0, below, wider], red[0], red[1], red[2])
    blue = spare[3, :m], spare[4, :m], spare[5, :m]
    sort_columns(
        tint[1, above, wider], tint[1, here, wider], tint[1, below, wider], blue[0], blue[1], blue[2]
    )
    near, ranges = slice(first - 1, last + 1), (spare[6, : n + 2], spare[7, : n + 2])
    up, down = (row - 1) % ring, (row + 1) % ring
    column_range(light[up, near], light[here, near], light[down, near], ranges[0], ranges[1])
    complete(
        red,
        blue,
        ranges,
        tint[0, here, first:last],
        tint[1, here, first:last],
        light[here, first:last],
        straying[here, first:last],
        alternating,
        own,
        measured,
        encoding,
        settings,
        out,
    )
