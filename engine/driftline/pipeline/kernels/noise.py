# mypy: disallow-untyped-defs=False, disallow-untyped-calls=False
# (numba finds the types of compiled functions out by itself)
"""Compiled taking out of colour noise; the reference is :mod:`driftline.stages.noise`.

Levels are planar, (3, h, w): luminance, red and blue; the finest is the picture itself, changed in place.
Each band is gone over twice: for its energy on the grid of the coarser level, and to take the noise out.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB
from driftline.pipeline.kernels.compilation import compiled
from driftline.pipeline.kernels.tiles import run_tiles
from driftline.stages import noise as reference

Planes = NDArray[np.float32]

TILE_ROWS = 64


def reduce_chroma_noise(
    rgb: CameraRGB,
    *,
    strength: float,
    noise: reference.NoiseModel,
    threads: int | None = None,
    tile_rows: int = TILE_ROWS,
) -> CameraRGB:
    """Take out colour noise as :func:`driftline.stages.noise.reduce_chroma_noise` does, in place.

    Parameters
    ----------
    rgb, strength, noise
        As there; ``rgb`` itself is changed and given back.
    threads, tile_rows
        How the work is cut up; the result is the same to the bit.
    """
    if strength == 0:
        return rgb
    rgb = np.ascontiguousarray(rgb, dtype=np.float32)
    levels = _levels(rgb, _runner(threads, tile_rows))
    others = levels[-1][1:].copy()
    for band in range(len(levels) - 1, -1, -1):
        settings = _settings(noise, reference.BAND_NOISE[band], strength)
        run = _runner(threads, tile_rows)
        fine = rgb if band == 0 else levels[band - 1]
        kept = _kept(fine, levels[band], others, settings, run, picture=band == 0)
        if band == 0:
            run(
                lambda a, b, o=others, k=kept, s=settings: finish_rows(rgb, levels[0], o, k, s, a, b),
                len(rgb),
            )
        else:
            others = _finer(fine, levels[band], others, kept, settings, run)
    return rgb


def _runner(threads: int | None, tile_rows: int) -> Any:
    """Run ``function(top, bottom)`` over a number of rows."""

    def run(function: Any, rows: int) -> None:
        run_tiles(lambda a, b, _l, _r: function(a, b), rows, 1, tile_rows=tile_rows, threads=threads)

    return run


def _levels(rgb: CameraRGB, run: Any) -> list[Planes]:
    """The levels below the picture, each half as large."""
    levels: list[Planes] = []
    height, width = rgb.shape[:2]
    for _ in reference.BAND_NOISE:
        height, width = -(-height // 2), -(-width // 2)
        level = np.empty((3, height, width), np.float32)
        if levels:
            run(lambda a, b, fine=levels[-1], out=level: halve_rows(fine, a, b, out), height)
        else:
            run(lambda a, b, out=level: halve_picture(rgb, a, b, out), height)
        levels.append(level)
    return levels


def _kept(
    fine: Any, coarse: Planes, others: Planes, settings: Any, run: Any, *, picture: bool
) -> NDArray[np.float32]:
    """How much of each deviation stays, on the coarser grid."""
    energy, kept = np.empty(coarse.shape[1:], np.float32), np.empty(coarse.shape[1:], np.float32)
    rows = energy_of_picture if picture else energy_of_level
    run(lambda a, b: rows(fine, coarse, others, settings, a, b, energy), len(energy))
    run(lambda a, b: keep_rows(energy, np.float32(reference.PLAIN), a, b, kept), len(kept))
    return kept


def _finer(fine: Planes, coarse: Planes, others: Planes, kept: Any, settings: Any, run: Any) -> Planes:
    """Quiet red and blue of a finer level."""
    out = np.empty((2, *fine.shape[1:]), np.float32)
    run(lambda a, b: finer_rows(fine, coarse, others, kept, settings, a, b, out), fine.shape[1])
    return out


def _settings(noise: reference.NoiseModel, band_noise: float, strength: float) -> NDArray[np.float32]:
    read = np.square(np.asarray(noise.read))
    return np.array([*noise.shot, *read, 2 * np.float32(band_noise), strength], dtype=np.float32)


@compiled
def halve_picture(rgb, top, bottom, out):
    """First level: luminance, red and blue of the picture, means of 2 x 2."""
    height, width = rgb.shape[0], rgb.shape[1]
    rows = np.empty((2, 3, width), np.float32)
    for y in range(top, bottom):
        split(rgb[2 * y], rows[0])
        split(rgb[min(2 * y + 1, height - 1)], rows[1])
        for c in range(3):
            halve_row(rows[0, c], rows[1, c], out[c, y])


@compiled
def halve_rows(fine, top, bottom, out):
    """The next level: means of 2 x 2."""
    for y in range(top, bottom):
        for c in range(3):
            halve_row(fine[c, 2 * y], fine[c, min(2 * y + 1, fine.shape[1] - 1)], out[c, y])


@compiled
def split(row, out):
    """A row (w, 3) of the picture into luminance, red and blue."""
    quarter, half = np.float32(0.25), np.float32(0.5)
    for i in range(row.shape[0]):
        out[0, i] = quarter * (row[i, 0] + row[i, 2]) + half * row[i, 1]
        out[1, i] = row[i, 0]
        out[2, i] = row[i, 2]


@compiled
def halve_row(upper, lower, out):
    """Means of 2 x 2; an odd edge is repeated."""
    quarter = np.float32(0.25)
    pairs = upper.size // 2
    for i in range(pairs):
        out[i] = ((upper[2 * i] + upper[2 * i + 1]) + (lower[2 * i] + lower[2 * i + 1])) * quarter
    if upper.size % 2:
        last = upper.size - 1
        out[pairs] = ((upper[last] + upper[last]) + (lower[last] + lower[last])) * quarter


@compiled
def double_row(plane, y, mixed, out):
    """Row y of a plane made twice as large, bilinearly; ``mixed`` is as wide as the plane."""
    most, few = np.float32(0.75), np.float32(0.25)
    near = y // 2
    side = min(near + 1, plane.shape[0] - 1) if y % 2 else max(near - 1, 0)
    upper, lower = plane[near], plane[side]
    for i in range(mixed.size):
        mixed[i] = upper[i] * most + lower[i] * few
    last = mixed.size - 1
    before, after = mixed[:-1], mixed[1:]
    for i in range(min(last, (out.size - 1) // 2)):
        out[2 * i + 2] = after[i] * most + before[i] * few
    for i in range(min(last, out.size // 2)):
        out[2 * i + 1] = before[i] * most + after[i] * few
    out[0] = mixed[0] * most + mixed[0] * few
    if out.size == 2 * mixed.size:
        out[out.size - 1] = mixed[last] * most + mixed[last] * few


@compiled
def double_rows(coarse, others, y, mixed, below):
    """The coarser level's three planes, and the quiet two, at row y of the finer."""
    for c in range(3):
        double_row(coarse[c], y, mixed, below[c])
    for c in range(2):
        double_row(others[c], y, mixed, below[3 + c])


@compiled
def variances(below, settings, noise):
    """Variance of each colour's noise, from smooth values: ``noise`` is (3, w)."""
    zero, least = np.float32(0), np.float32(1e-12)
    for i in range(below.shape[1]):
        red, blue = max(below[3, i], zero), max(below[4, i], zero)
        green = max(np.float32(2) * max(below[0, i], zero) - np.float32(0.5) * (red + blue), zero)
        noise[0, i] = max(settings[0] * red + settings[3], least)
        noise[1, i] = max(settings[1] * green + settings[4], least)
        noise[2, i] = max(settings[2] * blue + settings[5], least)


@compiled
def deviations(fine, below, noise, share, deviation):
    """Red's and blue's share in luminance, and how the band deviates from it; both (2, w)."""
    zero = np.float32(0)
    for i in range(fine.shape[1]):
        floor = np.sqrt(noise[1, i])
        whole = max(below[0, i], zero) + floor
        detail = fine[0, i] - below[0, i]
        red = (max(below[3, i], zero) + floor) / whole
        blue = (max(below[4, i], zero) + floor) / whole
        share[0, i] = red
        share[1, i] = blue
        deviation[0, i] = (fine[1, i] - below[1, i]) - red * detail
        deviation[1, i] = (fine[2, i] - below[2, i]) - blue * detail


@compiled
def energies(noise, share, deviation, unit, out):
    """Energy of the deviations in units of the noise's."""
    one, quarter = np.float32(1), np.float32(0.25)
    for i in range(out.size):
        green = noise[1, i] * quarter
        left = one - share[0, i] * quarter
        rest = green + noise[2, i] * np.float32(0.0625)
        red = (left * left * noise[0, i] + share[0, i] * share[0, i] * rest) * unit
        left = one - share[1, i] * quarter
        rest = green + noise[0, i] * np.float32(0.0625)
        blue = (left * left * noise[2, i] + share[1, i] * share[1, i] * rest) * unit
        out[i] = deviation[0, i] * deviation[0, i] / red + deviation[1, i] * deviation[1, i] / blue


@compiled
def energy_row(fine, coarse, others, y, settings, room, out):
    """Energy of one row of the finer level; ``room`` is (13, w) and ``fine`` (3, w)."""
    below, noise, share, deviation = room[0:5], room[5:8], room[8:10], room[10:12]
    double_rows(coarse, others, y, room[12, : coarse.shape[2]], below)
    variances(below, settings, noise)
    deviations(fine, below, noise, share, deviation)
    energies(noise, share, deviation, settings[6], out)


@compiled
def energy_of_picture(rgb, coarse, others, settings, top, bottom, out):
    """Means of the energy over 2 x 2 of the picture."""
    height, width = rgb.shape[0], rgb.shape[1]
    fine, room = np.empty((3, width), np.float32), np.empty((13, width), np.float32)
    pair = np.empty((2, width), np.float32)
    for y in range(top, bottom):
        for k in range(2):
            row = min(2 * y + k, height - 1)
            split(rgb[row], fine)
            energy_row(fine, coarse, others, row, settings, room, pair[k])
        halve_row(pair[0], pair[1], out[y])


@compiled
def energy_of_level(level, coarse, others, settings, top, bottom, out):
    """Means of the energy over 2 x 2 of a level."""
    height, width = level.shape[1], level.shape[2]
    room, pair = np.empty((13, width), np.float32), np.empty((2, width), np.float32)
    for y in range(top, bottom):
        for k in range(2):
            row = min(2 * y + k, height - 1)
            energy_row(level[:, row], coarse, others, row, settings, room, pair[k])
        halve_row(pair[0], pair[1], out[y])


@compiled
def keep_rows(energy, plain, top, bottom, out):
    """Wiener factors from the energy around, binomial 1 4 6 4 1 down and across, edges repeated."""
    height, width = energy.shape
    middle, near, far = np.float32(0.375), np.float32(0.25), np.float32(0.0625)
    line = np.empty(width + 4, np.float32)
    for y in range(top, bottom):
        a, b = energy[max(y - 2, 0)], energy[max(y - 1, 0)]
        c, d = energy[min(y + 1, height - 1)], energy[min(y + 2, height - 1)]
        own, inner = energy[y], line[2 : width + 2]
        for i in range(width):
            inner[i] = own[i] * middle + (b[i] + c[i]) * near + (a[i] + d[i]) * far
        line[0] = line[1] = line[2]
        line[width + 2] = line[width + 3] = line[width + 1]
        for i in range(width):
            around = line[i + 2] * middle + (line[i + 1] + line[i + 3]) * near + (line[i] + line[i + 4]) * far
            out[y, i] = max(np.float32(1) - plain / max(around, np.float32(1e-9)), np.float32(0))


@compiled
def quiet_row(fine, coarse, others, kept, y, settings, room, out):
    """Quiet red and blue (2, w) of one row; ``room`` is (14, w)."""
    below, noise, share, deviation = room[0:5], room[5:8], room[8:10], room[10:12]
    mixed, part = room[12, : coarse.shape[2]], room[13]
    double_rows(coarse, others, y, mixed, below)
    variances(below, settings, noise)
    deviations(fine, below, noise, share, deviation)
    double_row(kept, y, mixed, part)
    for c in range(2):
        for i in range(part.size):
            detail = fine[0, i] - below[0, i]
            out[c, i] = below[3 + c, i] + share[c, i] * detail + part[i] * deviation[c, i]


@compiled
def finer_rows(level, coarse, others, kept, settings, top, bottom, out):
    """Quiet red and blue of some rows of a level."""
    width = level.shape[2]
    room, quiet = np.empty((14, width), np.float32), np.empty((2, width), np.float32)
    for y in range(top, bottom):
        quiet_row(level[:, y], coarse, others, kept, y, settings, room, quiet)
        out[0, y] = quiet[0]
        out[1, y] = quiet[1]


@compiled
def finish_rows(rgb, coarse, others, kept, settings, top, bottom):
    """Take the noise out of some rows of the picture, in place."""
    width, strength = rgb.shape[1], settings[7]
    fine, room = np.empty((3, width), np.float32), np.empty((14, width), np.float32)
    quiet = np.empty((2, width), np.float32)
    for y in range(top, bottom):
        row = rgb[y]
        split(row, fine)
        quiet_row(fine, coarse, others, kept, y, settings, room, quiet)
        for i in range(width):
            red = fine[1, i] + strength * (quiet[0, i] - fine[1, i])
            blue = fine[2, i] + strength * (quiet[1, i] - fine[2, i])
            row[i, 0] = red
            row[i, 1] = np.float32(2) * fine[0, i] - np.float32(0.5) * (red + blue)
            row[i, 2] = blue
