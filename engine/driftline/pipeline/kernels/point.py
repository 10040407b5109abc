"""The per-pixel stages as one compiled pass; the reference is :meth:`driftline.pipeline.plan.Plan.run`.

Each strip of a row goes through short loops, so that arithmetic vectorises and only table look-ups stay
scalar. Nothing but + - × ÷ √, comparisons and tables in a fixed order touches a pixel: the result is the
same bits on any machine and thread count. Tables are made in float64 and rounded to float32.

A *gain table* holds f(x)/x and its step to the next node at 256 points an octave from 2^-24 to 2^8, found
straight from the bits of a float32 and interpolated linearly: relative error below 4e-6 for the curves used
here. Every table keeps a node's value and step side by side, so that one look-up touches one cache line.
"""

from __future__ import annotations

import numpy as np

from driftline.pipeline.kernels.compilation import compiled

CHUNK = 1024
GAIN_SHIFT, HUE_SHIFT, TONE_SHIFT = 15, 11, 12  # of 23 bits of mantissa
ONE_BITS = 127 << 23
GAIN_LOWEST = (127 - 24) << (23 - GAIN_SHIFT)
HUE_LOWEST, TONE_LOWEST = 127 << (23 - HUE_SHIFT), 127 << (23 - TONE_SHIFT)
LEAST, MOST = 2.0**-24, 2.0**8 * (1 - 2.0**-24)
GAIN_NODES = 32 * 256
HUE_NODES = 4096
TONE_NODES = 2048

# Where each matrix or number lies in the array of settings.
CAMERA_TO_REC2020, LUMINANCE, REC2020_TO_LMS, LMS_TO_LAB = 0, 9, 12, 21
LAB_TO_LMS, LMS_TO_OUTPUT, CHROMA_SCALE, MONO_WEIGHTS, LMS_TO_REC2020 = 30, 39, 48, 49, 52
SETTINGS = 61


@compiled
def locate(x, shift, lowest, nodes, parts):
    """Where each x > 0 lies in a table: its node, and 1 plus the part of the way to the next.

    A node is the exponent and the leading bits of the mantissa, ``shift`` bits being left for the part.
    """
    bits, part_bits = x.view(np.int32), parts.view(np.int32)
    mask, up = (1 << shift) - 1, 23 - shift
    for i in range(x.size):
        nodes[i] = (bits[i] >> shift) - lowest
        part_bits[i] = ((bits[i] & mask) << up) | ONE_BITS


@compiled
def gain(table, x, nodes, parts):
    """Multiply each x in place by its gain; x is held within the table, 2^-24 to 2^8."""
    least, most, one = np.float32(LEAST), np.float32(MOST), np.float32(1)
    for i in range(x.size):
        value = x[i] if x[i] > least else least
        x[i] = value if value < most else most
    locate(x, GAIN_SHIFT, GAIN_LOWEST, nodes, parts)
    for i in range(x.size):
        node = nodes[i]
        x[i] = x[i] * (table[node, 0] + (parts[i] - one) * table[node, 1])


@compiled
def cube_root(x, estimate):
    """Cube root of x in place: a bit estimate of x^(-1/3) and three Newton steps; relative error 4e-7."""
    bits = estimate.view(np.int32)
    third, four = np.float32(1.0 / 3.0), np.float32(4.0)
    for i in range(x.size):
        estimate[i] = max(abs(x[i]), np.float32(1e-30))
    for i in range(x.size):
        size = estimate[i]
        bits[i] = np.int32(0x54A21D2A) - np.int32(np.float32(bits[i]) * third)
        r = estimate[i]
        r = r * (four - size * r * r * r) * third
        r = r * (four - size * r * r * r) * third
        r = r * (four - size * r * r * r) * third
        root = size * r * r
        x[i] = root if x[i] >= np.float32(0) else -root


@compiled
def product(m, at, a, b, c):
    """Apply in place the 3 x 3 matrix that starts at ``at``."""
    m0, m1, m2, m3, m4, m5 = m[at], m[at + 1], m[at + 2], m[at + 3], m[at + 4], m[at + 5]
    m6, m7, m8 = m[at + 6], m[at + 7], m[at + 8]
    for i in range(a.size):
        x, y, z = a[i], b[i], c[i]
        a[i] = m0 * x + m1 * y + m2 * z
        b[i] = m3 * x + m4 * y + m5 * z
        c[i] = m6 * x + m7 * y + m8 * z


@compiled
def cube(a, b, c):
    """Cube three channels in place."""
    for i in range(a.size):
        a[i] = a[i] * a[i] * a[i]
        b[i] = b[i] * b[i] * b[i]
        c[i] = c[i] * c[i] * c[i]


@compiled
def contrast(m, table, a, b, c, light, factor, nodes, parts):
    """Scale the channels by the curve's gain at their luminance."""
    m0, m1, m2 = m[LUMINANCE], m[LUMINANCE + 1], m[LUMINANCE + 2]
    least, most = np.float32(LEAST), np.float32(MOST)
    for i in range(a.size):
        y = m0 * a[i] + m1 * b[i] + m2 * c[i]
        y = y if y > least else least
        light[i] = y if y < most else most
        factor[i] = light[i]
    gain(table, factor, nodes, parts)
    for i in range(a.size):
        by = factor[i] / light[i]
        a[i] *= by
        b[i] *= by
        c[i] *= by


@compiled
def to_lab(m, a, b, c, estimate):
    """Linear Rec. 2020 to Oklab in place."""
    product(m, REC2020_TO_LMS, a, b, c)
    cube_root(a, estimate)
    cube_root(b, estimate)
    cube_root(c, estimate)
    product(m, LMS_TO_LAB, a, b, c)


@compiled
def bands(table, L, a, b, place, strength, nodes, parts):
    """Turn, scale and lighten by hue; the table is laid out over the angle's pseudo-measure b/(|a|+|b|)."""
    zero, one, two, four = np.float32(0), np.float32(1), np.float32(2), np.float32(4)
    below_two = np.float32(2 - 2.0**-23)
    for i in range(L.size):
        x, y = a[i], b[i]
        part = y / (abs(x) + abs(y) + np.float32(1e-12))
        right = part if y >= zero else four + part
        turn = one + (two - part if x < zero else right) * np.float32(0.25)
        place[i] = turn if turn < below_two else below_two
        chroma = np.sqrt(x * x + y * y) * np.float32(25)
        strength[i] = chroma if chroma < one else one
    locate(place, HUE_SHIFT, HUE_LOWEST, nodes, parts)
    for i in range(L.size):
        node, part, x, y = nodes[i], parts[i] - one, a[i], b[i]
        cosine = table[node, 0] + part * table[node, 1]
        sine = table[node, 2] + part * table[node, 3]
        L[i] += (table[node, 4] + part * table[node, 5]) * strength[i]
        a[i] = x * cosine - y * sine
        b[i] = x * sine + y * cosine


@compiled
def tint(table, L, a, b, place, nodes, parts):
    """Add the split tones by lightness."""
    zero, one, most = np.float32(0), np.float32(1), np.float32(1 - 2.0**-23)
    for i in range(L.size):
        light = L[i] if L[i] > zero else zero
        place[i] = one + (light if light < most else most)
    locate(place, TONE_SHIFT, TONE_LOWEST, nodes, parts)
    for i in range(L.size):
        node, part = nodes[i], parts[i] - one
        a[i] += table[node, 0] + part * table[node, 1]
        b[i] += table[node, 2] + part * table[node, 3]


@compiled
def grey(m, L, a, b, estimate):
    """Weigh linear channels into one grey."""
    product(m, LAB_TO_LMS, L, a, b)
    cube(L, a, b)
    product(m, LMS_TO_REC2020, L, a, b)
    for i in range(L.size):
        light = m[MONO_WEIGHTS] * L[i] + m[MONO_WEIGHTS + 1] * a[i] + m[MONO_WEIGHTS + 2] * b[i]
        L[i] = max(light, np.float32(0))
        a[i] = np.float32(0)
        b[i] = np.float32(0)
    cube_root(L, estimate)


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
def most_chromatic(m, rounds, low, high, L, a, b):
    """Linear output RGB of the most chromatic colour inside the gamut between grey and a colour."""
    light = max(np.float32(0), min(L, np.float32(1)))
    inside, beyond = np.float32(0), np.float32(1)
    for _ in range(rounds):
        middle = (inside + beyond) * np.float32(0.5)
        red, green, blue = output_of(m, light, middle * a, middle * b)
        if min(red, green, blue) >= low and max(red, green, blue) <= high:
            inside = middle
        else:
            beyond = middle
    return output_of(m, light, inside * a, inside * b)


@compiled
def fit(m, rounds, slack, L, a, b, red, green, blue):
    """Oklab to linear output RGB in [0, 1], taking out chroma where it must."""
    low, high, one = -slack, np.float32(1) + slack, np.float32(1)
    for i in range(L.size):
        red[i] = L[i]
        green[i] = a[i]
        blue[i] = b[i]
    product(m, LAB_TO_LMS, red, green, blue)
    cube(red, green, blue)
    product(m, LMS_TO_OUTPUT, red, green, blue)
    for i in range(L.size):
        least = min(red[i], green[i], blue[i])
        most = max(red[i], green[i], blue[i])
        if least < low or most > high:
            red[i], green[i], blue[i] = most_chromatic(m, rounds, low, high, L[i], a[i], b[i])
    for i in range(L.size):
        red[i] = min(max(red[i], np.float32(0)), one)
        green[i] = min(max(green[i], np.float32(0)), one)
        blue[i] = min(max(blue[i], np.float32(0)), one)


@compiled
def develop_chunk(camera, m, tables, acts, rounds, slack, room, nodes):
    """One chunk of a row, (n, 3) balanced camera RGB, to linear output RGB in the last rows of ``room``."""
    n = camera.shape[0]
    a, b, c = room[0, :n], room[1, :n], room[2, :n]
    y, spare, parts, places = room[3, :n], room[4, :n], room[5, :n], nodes[:n]
    curve, standing, hues, tones, _ = tables
    has_curve, has_hues, has_mono, has_tones = acts
    for i in range(n):
        a[i] = camera[i, 0]
        b[i] = camera[i, 1]
        c[i] = camera[i, 2]
    product(m, CAMERA_TO_REC2020, a, b, c)
    if has_curve:
        contrast(m, curve, a, b, c, y, spare, places, parts)
    gain(standing, a, places, parts)
    gain(standing, b, places, parts)
    gain(standing, c, places, parts)
    to_lab(m, a, b, c, spare)
    if has_hues:
        bands(hues, a, b, c, y, spare, places, parts)
    for i in range(n):
        b[i] *= m[CHROMA_SCALE]
        c[i] *= m[CHROMA_SCALE]
    if has_mono:
        grey(m, a, b, c, spare)
    if has_tones:
        tint(tones, a, b, c, y, places, parts)
    fit(m, rounds, slack, a, b, c, room[6, :n], room[7, :n], room[8, :n])


@compiled
def develop_rows(camera, m, tables, acts, rounds, slack, out):
    """Camera RGB (rows, width, 3) to linear output RGB in ``out`` of the same shape, float32."""
    room, nodes = np.empty((9, CHUNK), np.float32), np.empty(CHUNK, np.int32)
    for row in range(camera.shape[0]):
        for start in range(0, camera.shape[1], CHUNK):
            n = min(CHUNK, camera.shape[1] - start)
            develop_chunk(camera[row, start : start + n], m, tables, acts, rounds, slack, room, nodes)
            for i in range(n):
                out[row, start + i, 0] = room[6, i]
                out[row, start + i, 1] = room[7, i]
                out[row, start + i, 2] = room[8, i]


@compiled
def develop_rows_8(camera, m, tables, acts, rounds, slack, out):
    """As :func:`develop_rows`, straight to sRGB code values in ``out``, uint8."""
    room, nodes = np.empty((9, CHUNK), np.float32), np.empty(CHUNK, np.int32)
    for row in range(camera.shape[0]):
        for start in range(0, camera.shape[1], CHUNK):
            n = min(CHUNK, camera.shape[1] - start)
            develop_chunk(camera[row, start : start + n], m, tables, acts, rounds, slack, room, nodes)
            for channel in range(3):
                light = room[6 + channel, :n]
                gain(tables[4], light, nodes[:n], room[5, :n])
                for i in range(n):
                    out[row, start + i, channel] = code(light[i])


@compiled
def code(encoded):
    """The 8-bit code value of an encoded value in [0, 1]."""
    return np.uint8(min(encoded, np.float32(1)) * np.float32(255) + np.float32(0.5))


@compiled
def encode_8(linear, table, out):
    """Linear RGB in [0, 1] to rounded sRGB code values; flat arrays."""
    room, nodes = np.empty((2, CHUNK), np.float32), np.empty(CHUNK, np.int32)
    for start in range(0, linear.size, CHUNK):
        n = min(CHUNK, linear.size - start)
        x = room[0, :n]
        for i in range(n):
            x[i] = linear[start + i]
        gain(table, x, nodes[:n], room[1, :n])
        for i in range(n):
            out[start + i] = code(x[i])


@compiled
def encode_float(linear, table, out):
    """Linear RGB in [0, 1] to encoded sRGB float32; flat arrays."""
    parts, nodes = np.empty(CHUNK, np.float32), np.empty(CHUNK, np.int32)
    for start in range(0, linear.size, CHUNK):
        n = min(CHUNK, linear.size - start)
        x = out[start : start + n]
        for i in range(n):
            x[i] = linear[start + i]
        gain(table, x, nodes[:n], parts[:n])
        for i in range(n):
            x[i] = min(x[i], np.float32(1))
