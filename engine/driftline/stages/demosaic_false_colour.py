"""False colour on thin lines, taken out of the colour differences before they become red, green and blue.

A line of one or two photosites hits few photosites of each colour, so on it colour differences are guesses:
black lines come out brown here and blue there. The median of the differences around knows better (W. T.
Freeman, "Median filter for reconstructing missing color samples", United States patent 4,724,395, 1988): most
of what lies around a thin line is not on it. But it also takes away real colour of thin things, so it is
followed only as far as three signs agree:

- half of the differences around agree with each other, set against how much green varies here;
- green does vary: where it hardly does there are no lines, and there is noise instead;
- red and blue vary as green does (:mod:`driftline.stages.demosaic_colours`), so the line is of no colour.

Where green alternates from photosite to photosite all around, as in weave far away, it is itself a guess on
all patterns but 2 × 2; differences then disagree and slopes stray because they are false, and count less
against the median.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Plane = NDArray[np.float32]

SPACING = 3
"""Steps between the nine places looked at; half the period of 6 × 6 patterns, and wider than a thin line."""

DISCORD = 4.0
"""How much the disagreement of the differences counts against the range of green."""

STRAYING = 4.0
"""How much a slope other than 1 counts."""

FAINT = 0.03
"""Range of encoded green below which nothing is a line."""

LEAST = 1e-3
"""Range of green that is counted at least."""

ALTERNATING = 0.22
"""Mean departure of green from its four neighbours, of its range, that tells texture too fine to follow.

A sine wave of 0.3 cycles a photosite has about that, at any slant; a line, a dot or an edge has far less.
"""

SPREAD = 3
"""Reach of the square in which that is told; a seventh of it is the most that a thin line fills."""

REACH = SPREAD + 1
"""How far beyond a place it matters what green is."""

MOST = 4.0
"""Times ``ALTERNATING`` that are counted at most, so that powers stay numbers."""

LENIENCY = 0.9
"""How much less discord and straying count in such texture."""


def without_false_colour(
    differences: Plane, green: Plane, slopes: Plane, alternating: Plane | None = None
) -> Plane:
    """Colour differences drawn to the median of those around where they are false.

    Parameters
    ----------
    differences
        (2, H, W) encoded red less green, and blue less green.
    green
        (H, W) encoded.
    slopes
        (2, H, W) how red, and blue, varies with green around each photosite.
    alternating
        (H, W) 0 … 1 of :func:`alternation`; without it 0 everywhere.

    Returns
    -------
    NDArray
        (2, H, W) float32; worthless within ``SPACING`` of the edges.
    """
    ranks = [np.sort(_around(plane, SPACING), axis=0) for plane in differences]
    medians = np.stack([rank[4] for rank in ranks])
    counts = np.float32(1) - np.float32(LENIENCY) * (np.float32(0) if alternating is None else alternating)
    discord = sum((rank[6] - rank[2] for rank in ranks), np.zeros_like(green)) * np.float32(DISCORD) * counts
    near = _around(green, 1)
    liveliness = near.max(axis=0) - near.min(axis=0) - np.float32(FAINT)
    straying = np.abs(slopes - 1).sum(axis=0) * np.float32(STRAYING) * counts
    lively = _fourth_power(np.maximum(liveliness, np.float32(LEAST)))
    share = lively / ((lively + _fourth_power(discord)) * (1 + _fourth_power(straying)))
    return np.asarray(differences + share * (medians - differences), dtype=np.float32)


def alternation(green: Plane) -> Plane:
    """(H, W) float32 0 … 1: whether (H, W) green, encoded, alternates at every photosite around.

    Worthless within ``REACH`` of the edges. The mean departure over the range tells many turns from a single
    large one, which an isolated line, dot or edge is.
    """
    from scipy import ndimage  # noqa: PLC0415  loaded where it is needed

    beside = np.roll(green, 1, 0) + np.roll(green, -1, 0) + np.roll(green, 1, 1) + np.roll(green, -1, 1)
    departure = ndimage.uniform_filter(np.abs(green - beside * np.float32(0.25)), 2 * SPREAD + 1)
    side = 2 * REACH + 1
    width = ndimage.maximum_filter(green, side) - ndimage.minimum_filter(green, side)
    ratio = departure / (np.maximum(width, np.float32(FAINT)) * np.float32(ALTERNATING))
    steep = _fourth_power(_fourth_power(np.minimum(ratio, np.float32(MOST))))
    return np.asarray(steep / (1 + steep), dtype=np.float32)


def finished(
    padded: Plane,
    green: Plane,
    colours: NDArray[np.intp],
    found: Sequence[tuple[Plane, Plane]],
    alternating: Plane | None = None,
) -> Plane:
    """(H, W, 3) encoded red, green and blue, of which none is false.

    Parameters
    ----------
    padded, colours
        (H, W) encoded values, and the colour of each.
    green
        (H, W) encoded green at every photosite.
    found
        Of red and of blue, (H, W) its difference to green and (H, W) its slope against it.
    alternating
        As for :func:`without_false_colour`.
    """
    first = np.stack([difference for difference, _ in found])
    last = without_false_colour(first, green, np.stack([slope for _, slope in found]), alternating)
    # What is measured stays, so at red and blue photosites it is green that moves.
    green = green + np.where(colours == 1, 0, np.where(colours == 0, *(first - last)))
    red, blue = (np.where(colours == 2 * at, padded, green + last[at]) for at in (0, 1))
    return np.stack([red, green, blue], axis=-1)


def _around(plane: Plane, spacing: int) -> Plane:
    """(9, H, W) a place and its eight neighbours so many steps away."""
    steps = (-spacing, 0, spacing)
    return np.stack([np.roll(plane, (down, right), (0, 1)) for down in steps for right in steps])


def _fourth_power(plane: Plane) -> Plane:
    square = plane * plane
    return square * square
