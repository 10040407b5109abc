"""Black and white levels, and where the photosites really stop."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from driftline.frames.directories import ACTIVE_AREA, BLACK, BLACK_DIM, WHITE, Directory

Levels = NDArray[np.float64]
_CELLS = 250_000
_PILES_FROM = 0.79
"""Share of the range below which no pile is looked for: the top fifth and the bin below it."""


def black_levels(
    listed: list[int],
    indices: NDArray[np.int64] | None,
    dng: Directory | None,
    margins: tuple[int, int],
) -> tuple[Levels, str]:
    """Black level of each photosite of the pattern (or of each plane), and a doubt or ''.

    Parameters
    ----------
    listed
        LibRaw's levels by colour index: red, green, blue, second green.
    indices
        (p, q) colour index of each photosite of the pattern; None for planes.
    dng
        The directory of the sensor values of a DNG file, or None.
    margins
        (top, left) of the values within the full raw.

    Notes
    -----
    DNG 1.4 repeats BlackLevel in blocks from the top left of ActiveArea. LibRaw folds blocks of 1 × 1 and
    2 × 2 into its four levels; of any other block it gives the least level only (measured).
    """
    by_index = np.asarray(listed, dtype=np.float64)
    libraws = by_index[:3] if indices is None else by_index[indices]
    block = None if dng is None else _black_block(dng, planes=indices is None)
    if block is None or abs(block.min() - libraws.min()) > 1:  # absent, or not on the scale of the values
        return libraws, ""
    if indices is None:
        return np.asarray(block.mean(axis=(0, 1))), ""
    return _spread(_from_margins(block[..., 0], dng, margins), (indices.shape[0], indices.shape[1]))


def _black_block(dng: Directory, *, planes: bool) -> Levels | None:
    """BlackLevel as (rows, columns, samples)."""
    rows, columns = (int(number) for number in dng.numbers(BLACK_DIM)[:2] or (1, 1))
    levels, samples = dng.numbers(BLACK), 3 if planes else 1
    if rows * columns * samples != len(levels) or not levels:
        return None
    return np.asarray(levels).reshape(rows, columns, samples)


def _from_margins(block: Levels, dng: Directory | None, margins: tuple[int, int]) -> Levels:
    """A block that begins at the active area, as it lies from the values' first row and column on."""
    area = [0, 0] if dng is None else dng.numbers(ACTIVE_AREA)[:2] or [0, 0]
    return np.roll(block, (int(area[0]) - margins[0], int(area[1]) - margins[1]), axis=(0, 1))


def _spread(block: Levels, shape: tuple[int, int]) -> tuple[Levels, str]:
    """A block on a pattern of another size: repeated where it fits, else averaged."""
    period = tuple(int(np.lcm(a, b)) for a, b in zip(block.shape, shape, strict=True))
    whole = np.tile(block, (period[0] // block.shape[0], period[1] // block.shape[1]))
    parts = whole.reshape(period[0] // shape[0], shape[0], period[1] // shape[1], shape[1])
    levels = np.asarray(parts.mean(axis=(0, 2)))
    if np.ptp(parts, axis=(0, 2)).max() == 0:
        return levels, ""
    height, width = block.shape
    return levels, f"black levels vary in blocks of {height} × {width}; their means on the pattern are used"


def white_levels(white: int, black: Levels, dng: Directory | None) -> Levels:
    """The level at which each colour counts as full, (3,).

    LibRaw's ``white_level`` is what its own output scales to, and is right for a mosaic. Its levels "per
    channel" say up to where the sensor is linear; for one maker they are 0.9346 of the white level whatever
    the file (measured: 3827 of 4095, where red and blue clip at 4095 and green at 3990). They are not used.
    Of linear planes with a level each LibRaw keeps one, less the spread of the black levels, so there the
    file's own tag is read, if it is on the scale of the values.
    """
    stated = [] if dng is None else dng.numbers(WHITE)
    if black.ndim == 1 and len(stated) == 3 and abs(max(stated) - white) <= np.ptp(black) + 1:
        return np.asarray(stated)
    return np.full(3, float(white))


def saturation_levels(
    values: NDArray[np.uint16],
    pattern: NDArray[np.uint8] | None,
    black: Levels,
    white: Levels,
    *,
    most: int | None = None,
) -> Levels:
    """Where the photosites of each colour really stop in this frame, (3,); ``white`` where nothing shows it.

    Photosites often stop short of the white level (measured: a frame at 0.93 of it). They then pile up, with
    next to nothing above. A bright smooth thing piles up too, but red, green and blue of it at different
    levels; so a pile counts only if that of another colour lies within 4 % of it, or if the other colours go
    on changing where this one has stopped (measured: a sky in which green stood at 0.95 and red still rose
    from 0.45 to 0.75).

    Parameters
    ----------
    values, pattern, black, white
        As in :class:`~driftline.frames.sensor.Sensor`.
    most
        The largest value, if it is known: below the top fifth of the range nothing is seen to stop.
    """
    base = float(black.mean())
    if most is not None and most < (base + _PILES_FROM * (white - base)).min():
        return white.copy()
    brightest = _brightest(values, pattern, base, white)
    piles = [_pile(bright, base, level) for bright, level in zip(brightest, white, strict=True)]
    levels, cells = white.copy(), _cells(values, pattern)
    for colour, pile in enumerate(piles):
        others = [other for index, other in enumerate(piles) if index != colour and other is not None]
        if pile is not None and any(abs(pile - other) < 0.04 * (white[colour] - base) for other in others):
            levels[colour] = min(pile, white[colour])
        elif (stop := _stops_alone(cells, colour, base, white[colour])) is not None:
            levels[colour] = min(stop, white[colour])
    return levels


def _cells(values: NDArray[np.uint16], pattern: NDArray[np.uint8] | None) -> Levels:
    """(n, 3): red, green and blue of repeats of the pattern, each the mean of its photosites.

    Of a large frame, evenly spread repeats: a quarter of a million show where a colour stops.
    """
    parts = [_of_colour(values, pattern, colour) for colour in range(3)]
    height = min(part.shape[0] for colour in parts for part in colour)
    width = min(part.shape[1] for colour in parts for part in colour)
    step = max(1, int(np.sqrt(height * width / _CELLS)))
    spread = (slice(0, height, step), slice(0, width, step))
    means = [np.mean([part[spread] for part in colour], axis=0, dtype=np.float32) for colour in parts]
    return np.stack([mean.ravel() for mean in means], axis=1)


def _stops_alone(cells: Levels, colour: int, black: float, white: float) -> float | None:
    """The level at which one colour stops while the others go on, or None.

    In bins of 1 % of the range: a mode in the top fifth, thrice what lies below and with next to nothing
    above, in which another colour spreads thrice as far as it does a few bins below.
    """
    share = (cells[:, colour] - black) / (white - black)
    bins = np.floor(share * 100).astype(int)
    counts = np.bincount(bins[(bins >= 60) & (bins <= 100)], minlength=101)
    mode = 80 + int(counts[80:].argmax())
    pile, below = counts[mode - 1 : mode + 2].sum(), counts[mode - 10 : mode - 4].mean()
    if pile < 200 or pile < 3 * 3 * below or counts[mode + 3 :].sum() > 0.1 * pile:
        return None
    inside, before = np.abs(bins - mode) <= 1, (bins >= mode - 10) & (bins < mode - 4)
    if before.sum() < 50:
        return None
    for other in {0, 1, 2} - {colour}:
        spread, usual = (_spread_of(cells[where, other] - black) for where in (inside, before))
        if spread > max(3 * usual, 0.15):
            return float(black + (mode - 1) / 100 * (white - black))
    return None


def _spread_of(values: Levels) -> float:
    """From the 5th to the 95th percentile, over the median."""
    low, middle, high = np.percentile(values, (5, 50, 95))
    return float((high - low) / max(middle, 1e-6))


def mean_signal(values: NDArray[np.uint16], pattern: NDArray[np.uint8] | None, black: Levels) -> Levels:
    """Mean of each colour above black, (3,); of a large frame, over evenly spread rows."""
    every = max(1, values.shape[0] * values.shape[1] // (1 if pattern is None else pattern.size) // _CELLS)
    parts = [_of_colour(values, pattern, colour, every) for colour in range(3)]
    means = np.array([np.mean([part.mean() for part in colour]) for colour in parts])
    blacks = black if pattern is None else [black[pattern == colour].mean() for colour in range(3)]
    return np.asarray(np.maximum(means - blacks, 0.0))


def _of_colour(
    values: NDArray[np.uint16], pattern: NDArray[np.uint8] | None, colour: int, every: int = 1
) -> list[NDArray[np.uint16]]:
    """The photosites of one colour, as strided views; of every so many repeats of the pattern, downwards."""
    if pattern is None:
        return [values[::every, :, colour]]
    rows, columns = pattern.shape
    places = np.argwhere(pattern == colour)
    return [values[row :: rows * every, column::columns] for row, column in places]


def _brightest(
    values: NDArray[np.uint16], pattern: NDArray[np.uint8] | None, black: float, white: Levels
) -> list[NDArray[np.uint16]]:
    """The values of each colour in the top fifth of its range."""
    low = np.ceil(black + 0.8 * (white - black)).astype(int)
    if pattern is None:
        return [values[..., colour][values[..., colour] >= low[colour]] for colour in range(3)]
    flat = values.ravel()
    places = np.flatnonzero(flat >= int(low.min()))  # a number of numpy's own would widen every value
    bright, (rows, columns) = flat[places], np.divmod(places, values.shape[1])
    colours = pattern[rows % pattern.shape[0], columns % pattern.shape[1]]
    return [bright[(colours == colour) & (bright >= low[colour])] for colour in range(3)]


def _pile(bright: NDArray[np.uint16], black: float, white: float) -> float | None:
    """The lower edge of a pile of values in the top fifth of the range, or None.

    Where one value makes up most of the pile, clipping is sharp and the edge is that value.
    """
    low = int(np.ceil(black + 0.8 * (white - black)))
    fine = np.bincount(bright - low, minlength=65536 - low)
    step = max(int((white - black) / 512), 1)
    counts = np.add.reduceat(fine, np.arange(0, fine.size, step))
    mode = int(counts.argmax())
    pile = counts[max(mode - 1, 0) : mode + 2].sum()
    below = counts[max(mode - 13, 0) : max(mode - 3, 0)]
    above = counts[mode + 4 :].sum()
    if mode < 13 or pile < 32 or pile < 3 * 3 * below.mean() or above > 0.05 * pile:
        return None
    edge = (mode - 1) * step
    peak = edge + int(fine[edge : edge + 3 * step].argmax())
    return float(low + (peak if fine[peak] > 0.5 * pile else edge))
