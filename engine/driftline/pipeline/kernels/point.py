"""The per-pixel stages as one compiled pass; the reference is :meth:`driftline.pipeline.plan.Plan.run`.

Each strip of a row goes through short loops, so that arithmetic vectorises and only table look-ups stay
scalar. Nothing but + - × ÷ √, comparisons and tables in a fixed order touches a pixel: the result is the
same bits on any machine and thread count. Tables are made in float64 and rounded to float32.

A *gain table* holds f(x)/x at 256 points an octave from 2^-24 to 2^8, found straight from the bits of a
float32 and interpolated linearly: relative error below 4e-6 for the curves used here.
"""

from __future__ import annotations

import numpy as np

from driftline.pipeline.kernels.compilation import compiled

CHUNK = 1024
LOWEST_BITS = (127 - 24) << 23
OCTAVE_SHIFT = 15
GAIN_NODES = 32 * 256
HUE_NODES = 4096
TONE_NODES = 2048

# Where each matrix or number lies in the array of settings.
CAMERA_TO_REC2020, LUMINANCE, REC2020_TO_LMS, LMS_TO_LAB = 0, 9, 12, 21
LAB_TO_LMS, LMS_TO_OUTPUT, CHROMA_SCALE, MONO_WEIGHTS, LMS_TO_REC2020 = 30, 39, 48, 49, 52
SETTINGS = 61


@compiled
def gain(table, x):
    """Multiply each x in place by its gain; x is clipped below at 0."""
    bits = x.view(np.int32)
    for i in range(x.size):
        x[i] = max(x[i], np.float32(0))
        place = bits[i] - LOWEST_BITS
        place = max(0, min(place, (GAIN_NODES << OCTAVE_SHIFT) - 1))
        node = place >> OCTAVE_SHIFT
        part = np.float32(place & ((1 << OCTAVE_SHIFT) - 1)) * np.float32(1.0 / (1 << OCTAVE_SHIFT))
        x[i] = x[i] * (table[node] + part * (table[node + 1] - table[node]))


@compiled
def cube_root(x, y):
    """Cube root of x into y: a bit estimate of x^(-1/3) and three Newton steps; relative error 3e-7."""
    bits = y.view(np.int32)
    third, four = np.float32(1.0 / 3.0), np.float32(4.0)
    for i in range(x.size):
        y[i] = max(abs(x[i]), np.float32(1e-30))
    for i in range(x.size):
        size = y[i]
        bits[i] = np.int32(0x54A21D2A) - np.int32(np.float32(bits[i]) * third)
        r = y[i]
        r = r * (four - size * r * r * r) * third
        r = r * (four - size * r * r * r) * third
        r = r * (four - size * r * r * r) * third
        root = size * r * r
        y[i] = root if x[i] >= np.float32(0) else -root


@compiled
def product(m, at, a, b, c):
    """Apply in place the 3 x 3 matrix that starts at ``at``."""
    for i in range(a.size):
        x, y, z = a[i], b[i], c[i]
        a[i] = m[at] * x + m[at + 1] * y + m[at + 2] * z
        b[i] = m[at + 3] * x + m[at + 4] * y + m[at + 5] * z
        c[i] = m[at + 6] * x + m[at + 7] * y + m[at + 8] * z


@compiled
def to_lab(m, a, b, c, root):
    """Linear Rec. 2020 to Oklab in place."""
    product(m, REC2020_TO_LMS, a, b, c)
    for channel in (a, b, c):
        cube_root(channel, root)
        channel[:] = root
    product(m, LMS_TO_LAB, a, b, c)


@compiled
def bands(table, L, a, b):
    """Turn, scale and lighten by hue; the table is laid out over the angle's pseudo-measure b/(|a|+|b|)."""
    for i in range(L.size):
        x, y = a[i], b[i]
        length = abs(x) + abs(y) + np.float32(1e-12)
        angle = y / length
        if x < np.float32(0):
            angle = np.float32(2) - angle
        elif y < np.float32(0):
            angle = np.float32(4) + angle
        place = angle * np.float32(HUE_NODES / 4)
        node = min(int(place), HUE_NODES - 1)
        part = place - np.float32(node)
        cosine = table[0, node] + part * (table[0, node + 1] - table[0, node])
        sine = table[1, node] + part * (table[1, node + 1] - table[1, node])
        lift = table[2, node] + part * (table[2, node + 1] - table[2, node])
        chroma = np.sqrt(x * x + y * y) * np.float32(25)
        L[i] += lift * min(chroma, np.float32(1))
        a[i] = x * cosine - y * sine
        b[i] = x * sine + y * cosine


@compiled
def tint(table, L, a, b):
    """Add the split tones by lightness."""
    for i in range(L.size):
        place = max(np.float32(0), min(L[i], np.float32(1))) * np.float32(TONE_NODES)
        node = min(int(place), TONE_NODES - 1)
        part = place - np.float32(node)
        a[i] += table[0, node] + part * (table[0, node + 1] - table[0, node])
        b[i] += table[1, node] + part * (table[1, node + 1] - table[1, node])


@compiled
def grey(m, L, a, b, root):
    """Weigh linear channels into one grey."""
    product(m, LAB_TO_LMS, L, a, b)
    for channel in (L, a, b):
        for i in range(channel.size):
            channel[i] = channel[i] * channel[i] * channel[i]
    product(m, LMS_TO_REC2020, L, a, b)
    for i in range(L.size):
        light = m[MONO_WEIGHTS] * L[i] + m[MONO_WEIGHTS + 1] * a[i] + m[MONO_WEIGHTS + 2] * b[i]
        L[i] = max(light, np.float32(0))
        a[i] = np.float32(0)
        b[i] = np.float32(0)
    cube_root(L, root)
    L[:] = root


@compiled
def output_of(m, L, a, b):
    """Linear output RGB of one Oklab colour."""
    k = m[LAB_TO_LMS] * L + m[LAB_TO_LMS + 1] * a + m[LAB_TO_LMS + 2] * b
    n = m[LAB_TO_LMS + 3] * L + m[LAB_TO_LMS + 4] * a + m[LAB_TO_LMS + 5] * b
    s = m[LAB_TO_LMS + 6] * L + m[LAB_TO_LMS + 7] * a + m[LAB_TO_LMS + 8] * b
    k, n, s = k * k * k, n * n * n, s * s * s
    o = LMS_TO_OUTPUT
    return (
        m[o] * k + m[o + 1] * n + m[o + 2] * s,
        m[o + 3] * k + m[o + 4] * n + m[o + 5] * s,
        m[o + 6] * k + m[o + 7] * n + m[o + 8] * s,
    )


@compiled
def fit(m, rounds, slack, L, a, b, out):
    """Oklab to linear output RGB in [0, 1], taking out chroma where it must; ``out`` is (n, 3)."""
    low, high = -slack, np.float32(1) + slack
    zero, one = np.float32(0), np.float32(1)
    for i in range(L.size):
        red, green, blue = output_of(m, L[i], a[i], b[i])
        out[i, 0], out[i, 1], out[i, 2] = red, green, blue
    for i in range(L.size):
        red, green, blue = out[i, 0], out[i, 1], out[i, 2]
        if min(red, green, blue) < low or max(red, green, blue) > high:
            light = max(zero, min(L[i], one))
            inside, beyond = zero, one
            for _ in range(rounds):
                middle = (inside + beyond) * np.float32(0.5)
                red, green, blue = output_of(m, light, middle * a[i], middle * b[i])
                if min(red, green, blue) >= low and max(red, green, blue) <= high:
                    inside = middle
                else:
                    beyond = middle
            red, green, blue = output_of(m, light, inside * a[i], inside * b[i])
        out[i, 0] = max(zero, min(red, one))
        out[i, 1] = max(zero, min(green, one))
        out[i, 2] = max(zero, min(blue, one))


@compiled
def develop_rows(
    camera, m, curve, standing, hues, tones, has_curve, has_hues, has_mono, has_tones, rounds, slack, out
):
    """Camera RGB (rows, width, 3) to linear output RGB in ``out`` of the same shape."""
    rows, width = camera.shape[0], camera.shape[1]
    room = np.empty((5, CHUNK), np.float32)
    for row in range(rows):
        for start in range(0, width, CHUNK):
            n = min(CHUNK, width - start)
            a, b, c, y, spare = room[0, :n], room[1, :n], room[2, :n], room[3, :n], room[4, :n]
            for i in range(n):
                a[i] = camera[row, start + i, 0]
                b[i] = camera[row, start + i, 1]
                c[i] = camera[row, start + i, 2]
            product(m, CAMERA_TO_REC2020, a, b, c)
            if has_curve:
                for i in range(n):
                    y[i] = m[LUMINANCE] * a[i] + m[LUMINANCE + 1] * b[i] + m[LUMINANCE + 2] * c[i]
                    spare[i] = y[i] if y[i] > np.float32(1e-20) else np.float32(1e-20)
                    y[i] = spare[i]
                gain(curve, y)
                for i in range(n):
                    factor = y[i] / spare[i]
                    a[i] *= factor
                    b[i] *= factor
                    c[i] *= factor
            gain(standing, a)
            gain(standing, b)
            gain(standing, c)
            to_lab(m, a, b, c, spare)
            if has_hues:
                bands(hues, a, b, c)
            for i in range(n):
                b[i] *= m[CHROMA_SCALE]
                c[i] *= m[CHROMA_SCALE]
            if has_mono:
                grey(m, a, b, c, spare)
            if has_tones:
                tint(tones, a, b, c)
            fit(m, rounds, slack, a, b, c, out[row, start : start + n])


@compiled
def encode_8(linear, table, out):
    """Linear RGB in [0, 1] to rounded sRGB code values; flat arrays."""
    room = np.empty(CHUNK, np.float32)
    for start in range(0, linear.size, CHUNK):
        n = min(CHUNK, linear.size - start)
        x = room[:n]
        x[:] = linear[start : start + n]
        gain(table, x)
        for i in range(n):
            out[start + i] = np.uint8(min(x[i], np.float32(1)) * np.float32(255) + np.float32(0.5))


@compiled
def encode_float(linear, table, out):
    """Linear RGB in [0, 1] to encoded sRGB float32; flat arrays."""
    for start in range(0, linear.size, CHUNK):
        n = min(CHUNK, linear.size - start)
        x = out[start : start + n]
        x[:] = linear[start : start + n]
        gain(table, x)
        for i in range(n):
            x[i] = min(x[i], np.float32(1))
