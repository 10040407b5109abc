# mypy: disallow-untyped-defs=False, disallow-untyped-calls=False
# (numba finds the types of compiled functions out by itself)
"""Compiled passes over the places of a picture: what measuring does many times for one verdict."""

from __future__ import annotations

import numpy as np

from driftline.pipeline.kernels.compilation import compiled

WEIGHT, MEAN_A, MEAN_B, PRODUCT, SQUARE = range(5)
"""Columns of the sums of a step: of the weights; weighed, of z_A, z_B, conj(z_A) z_B and |z_A|²."""


@compiled
def mix(planes, matrix, out):
    """A 3 × 3 matrix applied to every place of (3, n) planes, in their dtype."""
    for row in range(3):
        a, b, c = matrix[row, 0], matrix[row, 1], matrix[row, 2]
        for i in range(planes.shape[1]):
            out[row, i] = planes[0, i] * a + planes[1, i] * b + planes[2, i] * c


@compiled
def recolour(lab, lightness, c, levels, tint, out):
    """Chroma and hue of Oklab (3, n) times ``c``, and the tint of each lightness added, times its own L.

    Below the first and above the last of the ``levels`` the tint is what it is there; between them it goes
    in straight lines.
    """
    last = levels.size - 1
    for i in range(lab.shape[1]):
        at = lightness[i]
        k = 0
        while k < last and levels[k + 1] < at:
            k += 1
        if k == last or at <= levels[k]:
            z = tint[k]
        else:
            z = tint[k] + (at - levels[k]) / (levels[k + 1] - levels[k]) * (tint[k + 1] - tint[k])
        L, a, b = lab[0, i], lab[1, i], lab[2, i]
        out[0, i] = L
        out[1, i] = a * c.real - b * c.imag + z.real * L
        out[2, i] = a * c.imag + b * c.real + z.imag * L


@compiled
def bilinear(planes, scale, shift, k1, second, outside, top, bottom, out):
    """Rows ``top`` to ``bottom`` of ``out`` (c, h, w), sampled from planes that lie under it otherwise.

    A place p from the middle of ``out`` lies at the middle of the planes + shift + scale · p · (1 + d +
    second · d²), d = k1 r², r 1 at the corner of ``out``. What is further ``outside`` than so many pixels
    becomes nan; what is nearer takes the edge.
    """
    height, width = planes.shape[1], planes.shape[2]
    rows, columns = out.shape[1], out.shape[2]
    unit = 4.0 / (rows * rows + columns * columns)
    for i in range(top, bottom):
        y = i - (rows - 1) / 2
        for j in range(columns):
            x = j - (columns - 1) / 2
            bend = k1 * (y * y + x * x) * unit
            bend = 1.0 + bend + second * bend * bend
            row = (height - 1) / 2 + shift[0] + scale[0] * y * bend
            column = (width - 1) / 2 + shift[1] + scale[1] * x * bend
            if not (-outside <= row <= height - 1 + outside and -outside <= column <= width - 1 + outside):
                for plane in range(planes.shape[0]):
                    out[plane, i, j] = np.nan
                continue
            row, column = min(max(row, 0.0), height - 1.0), min(max(column, 0.0), width - 1.0)
            above, before = int(row), int(column)
            below, behind = min(above + 1, height - 1), min(before + 1, width - 1)
            down, across = np.float32(row - above), np.float32(column - before)
            up, back = np.float32(1) - down, np.float32(1) - across
            for plane in range(planes.shape[0]):
                near = planes[plane, above, before] * back + planes[plane, above, behind] * across
                far = planes[plane, below, before] * back + planes[plane, below, behind] * across
                out[plane, i, j] = near * up + far * down


@compiled
def misses(z_A, z_B, lightness, starts, c, offsets, every):
    """How far each of every so many places lies from the line of its step, times its lightness."""
    found = np.empty(-(-lightness.size // every))
    for step in range(starts.size):
        first = -(-starts[step] // every)
        last = starts[step + 1] if step + 1 < starts.size else lightness.size
        for k in range(first, -(-last // every)):
            i = k * every
            found[k] = _miss(z_A[i], z_B[i], c, offsets[step]) * lightness[i]
    return found


@compiled
def line_sums(z_A, z_B, lightness, starts, c, offsets, limit):
    """Sums over the places of each step, (steps, 5) complex128.

    A place weighs its lightness squared, less beyond a ``limit`` of its miss (Huber 1964).
    """
    sums = np.empty((starts.size, 5), np.complex128)
    for step in range(starts.size):
        weight = a_real = a_imag = b_real = b_imag = real = imag = square = 0.0
        last = starts[step + 1] if step + 1 < starts.size else lightness.size
        for i in range(starts[step], last):
            a, b = z_A[i], z_B[i]
            w = lightness[i] * lightness[i]
            if limit < np.inf:
                miss = _miss(a, b, c, offsets[step]) * lightness[i]
                if miss > limit:
                    w *= limit / miss
            weight += w
            a_real += w * a.real
            a_imag += w * a.imag
            b_real += w * b.real
            b_imag += w * b.imag
            real += w * (a.real * b.real + a.imag * b.imag)
            imag += w * (a.real * b.imag - a.imag * b.real)
            square += w * (a.real * a.real + a.imag * a.imag)
        sums[step, WEIGHT] = weight
        sums[step, MEAN_A], sums[step, MEAN_B] = complex(a_real, a_imag), complex(b_real, b_imag)
        sums[step, PRODUCT], sums[step, SQUARE] = complex(real, imag), square
    return sums


@compiled
def _miss(a, b, c, offset):
    real = b.real - (c.real * a.real - c.imag * a.imag) - offset.real
    imag = b.imag - (c.real * a.imag + c.imag * a.real) - offset.imag
    return np.sqrt(real * real + imag * imag)
