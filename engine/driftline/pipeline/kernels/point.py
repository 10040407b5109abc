"""The per-pixel stages as one compiled pass; the reference is :meth:`driftline.pipeline.plan.Plan.run`.

Each strip of a row goes through short loops, so that arithmetic vectorises and only table look-ups stay
scalar. Nothing but + - × ÷ √, comparisons and tables in a fixed order touches a pixel: the result is the
same bits on any machine and thread count. Tables are made in float64 and rounded to float32.

A *gain table* holds f(x)/x and its step to the next node at 256 points an octave from 2^-24 to 2^8, found
straight from the bits of a float32 and interpolated linearly: relative error below 4e-6 for the curves used
here. Every table keeps a node's value and step side by side, so that one look-up touches one cache line.

The *code table* rounds to 8 bits: of 128 nodes an octave from 2^-13 to 1 each holds at most one place where
the code value rises, kept as a whole number to which the rest of the bits is added.
"""

from __future__ import annotations

import numpy as np

from driftline.pipeline.kernels.compilation import compiled

CHUNK = 2048
ROOM = 17  # rows of a chunk's length: nine to develop in, eight to bring colours into the gamut
GAIN_SHIFT, HUE_SHIFT, TONE_SHIFT = 15, 12, 13  # of 23 bits of mantissa
ONE_BITS = 127 << 23
GAIN_LOWEST = (127 - 24) << (23 - GAIN_SHIFT)
HUE_LOWEST, TONE_LOWEST = 127 << (23 - HUE_SHIFT), 127 << (23 - TONE_SHIFT)
LEAST, MOST = 2.0**-24, 2.0**8 * (1 - 2.0**-24)
GAIN_NODES = 32 * 256
CODE_SHIFT = 16
CODE_LOWEST = (127 - 13) << 23
CODE_NODES = 13 * 128 + 1
HUE_NODES = 2048
TONE_NODES = 1024

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
def codes_of(table, red, green, blue, out):
    """8-bit code values (n, 3) of linear light in [0, 1]."""
    lowest, least = np.int32(CODE_LOWEST), np.int32(0)
    r, g, b = red.view(np.int32), green.view(np.int32), blue.view(np.int32)
    for i in range(red.size):
        x, y, z = max(r[i] - lowest, least), max(g[i] - lowest, least), max(b[i] - lowest, least)
        out[i, 0] = (table[x >> CODE_SHIFT] + (x & 0xFFFF)) >> CODE_SHIFT
        out[i, 1] = (table[y >> CODE_SHIFT] + (y & 0xFFFF)) >> CODE_SHIFT
        out[i, 2] = (table[z >> CODE_SHIFT] + (z & 0xFFFF)) >> CODE_SHIFT


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
def contrast(m, table, a, b, c, light, nodes, parts):
    """Scale the channels by the curve's gain at their luminance."""
    m0, m1, m2 = m[LUMINANCE], m[LUMINANCE + 1], m[LUMINANCE + 2]
    least, most, one = np.float32(LEAST), np.float32(MOST), np.float32(1)
    for i in range(a.size):
        y = m0 * a[i] + m1 * b[i] + m2 * c[i]
        y = y if y > least else least
        light[i] = y if y < most else most
    locate(light, GAIN_SHIFT, GAIN_LOWEST, nodes, parts)
    for i in range(a.size):
        node = nodes[i]
        by = table[node, 0] + (parts[i] - one) * table[node, 1]
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
def bands(table, lightens, L, a, b, place, strength, nodes, parts):
    """Turn, scale and lighten by hue; the table is laid out over the angle's pseudo-measure b/(|a|+|b|)."""
    zero, one, two, four = np.float32(0), np.float32(1), np.float32(2), np.float32(4)
    below_two = np.float32(2 - 2.0**-23)
    for i in range(L.size):
        x, y = a[i], b[i]
        part = y / (abs(x) + abs(y) + np.float32(1e-12))
        right = part if y >= zero else four + part
        turn = one + (two - part if x < zero else right) * np.float32(0.25)
        place[i] = turn if turn < below_two else below_two
    locate(place, HUE_SHIFT, HUE_LOWEST, nodes, parts)
    if lightens:
        for i in range(L.size):
            chroma = np.sqrt(a[i] * a[i] + b[i] * b[i]) * np.float32(25)
            strength[i] = chroma if chroma < one else one
        for i in range(L.size):
            L[i] += (table[nodes[i], 4] + (parts[i] - one) * table[nodes[i], 5]) * strength[i]
    for i in range(L.size):
        node, part, x, y = nodes[i], parts[i] - one, a[i], b[i]
        cosine = table[node, 0] + part * table[node, 1]
        sine = table[node, 2] + part * table[node, 3]
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
def output_of(m, L, a, b, red, green, blue):
    """Linear output RGB of Oklab."""
    c, o = LAB_TO_LMS, LMS_TO_OUTPUT
    k0, k1, k2, k3, k4, k5 = m[c], m[c + 1], m[c + 2], m[c + 3], m[c + 4], m[c + 5]
    k6, k7, k8 = m[c + 6], m[c + 7], m[c + 8]
    o0, o1, o2, o3, o4, o5 = m[o], m[o + 1], m[o + 2], m[o + 3], m[o + 4], m[o + 5]
    o6, o7, o8 = m[o + 6], m[o + 7], m[o + 8]
    for i in range(L.size):
        x, y, z = L[i], a[i], b[i]
        k, n, s = k0 * x + k1 * y + k2 * z, k3 * x + k4 * y + k5 * z, k6 * x + k7 * y + k8 * z
        k, n, s = k * k * k, n * n * n, s * s * s
        red[i] = o0 * k + o1 * n + o2 * s
        green[i] = o3 * k + o4 * n + o5 * s
        blue[i] = o6 * k + o7 * n + o8 * s


@compiled
def halve(m, low, high, L, a, b, inside, beyond):
    """One halving of the interval between a chroma inside the gamut and one beyond it, for many colours."""
    c, o, half = LAB_TO_LMS, LMS_TO_OUTPUT, np.float32(0.5)
    k0, k1, k2, k3, k4, k5 = m[c], m[c + 1], m[c + 2], m[c + 3], m[c + 4], m[c + 5]
    k6, k7, k8 = m[c + 6], m[c + 7], m[c + 8]
    o0, o1, o2, o3, o4, o5 = m[o], m[o + 1], m[o + 2], m[o + 3], m[o + 4], m[o + 5]
    o6, o7, o8 = m[o + 6], m[o + 7], m[o + 8]
    for i in range(L.size):
        middle = (inside[i] + beyond[i]) * half
        x, y, z = L[i], middle * a[i], middle * b[i]
        k, n, s = k0 * x + k1 * y + k2 * z, k3 * x + k4 * y + k5 * z, k6 * x + k7 * y + k8 * z
        k, n, s = k * k * k, n * n * n, s * s * s
        red, green, blue = o0 * k + o1 * n + o2 * s, o3 * k + o4 * n + o5 * s, o6 * k + o7 * n + o8 * s
        fits = (min(red, green, blue) >= low) & (max(red, green, blue) <= high)
        inside[i] = middle if fits else inside[i]
        beyond[i] = beyond[i] if fits else middle


@compiled
def most_chromatic(m, rounds, low, high, L, a, b, place, room):
    """Linear output RGB of the most chromatic colours in the gamut between grey and those at ``place``."""
    n, one = place.size, np.float32(1)
    light, x, y, inside, beyond = room[0, :n], room[1, :n], room[2, :n], room[3, :n], room[4, :n]
    for i in range(n):
        light[i] = max(np.float32(0), min(L[place[i]], one))
        x[i], y[i] = a[place[i]], b[place[i]]
        inside[i], beyond[i] = np.float32(0), one
    for _ in range(rounds):
        halve(m, low, high, light, x, y, inside, beyond)
    for i in range(n):
        x[i] *= inside[i]
        y[i] *= inside[i]
    output_of(m, light, x, y, room[5, :n], room[6, :n], room[7, :n])


@compiled
def fit(m, rounds, slack, L, a, b, red, green, blue, room, places):
    """Oklab to linear output RGB in [0, 1], taking out chroma where it must."""
    low, high, one = -slack, np.float32(1) + slack, np.float32(1)
    output_of(m, L, a, b, red, green, blue)
    outside = 0
    for i in range(L.size):
        outside += (min(red[i], green[i], blue[i]) < low) | (max(red[i], green[i], blue[i]) > high)
    if outside:
        found = 0
        for i in range(L.size):
            if min(red[i], green[i], blue[i]) < low or max(red[i], green[i], blue[i]) > high:
                places[found] = i
                found += 1
        most_chromatic(m, rounds, low, high, L, a, b, places[:found], room)
        for i in range(found):
            red[places[i]], green[places[i]], blue[places[i]] = room[5, i], room[6, i], room[7, i]
    for i in range(L.size):
        red[i] = min(max(red[i], np.float32(0)), one)
        green[i] = min(max(green[i], np.float32(0)), one)
        blue[i] = min(max(blue[i], np.float32(0)), one)


@compiled
def develop_chunk(camera, m, tables, acts, rounds, slack, room, nodes):
    """One chunk of a row, (n, 3) balanced camera RGB, to linear output RGB in rows 6 to 8 of ``room``."""
    n = camera.shape[0]
    a, b, c = room[0, :n], room[1, :n], room[2, :n]
    y, spare, parts, places = room[3, :n], room[4, :n], room[5, :n], nodes[:n]
    curve, standing, hues, tones = tables
    has_curve, has_hues, lightens, has_mono, has_tones = acts
    for i in range(n):
        a[i] = camera[i, 0]
        b[i] = camera[i, 1]
        c[i] = camera[i, 2]
    product(m, CAMERA_TO_REC2020, a, b, c)
    if has_curve:
        contrast(m, curve, a, b, c, y, places, parts)
    gain(standing, a, places, parts)
    gain(standing, b, places, parts)
    gain(standing, c, places, parts)
    to_lab(m, a, b, c, spare)
    if has_hues:
        bands(hues, lightens, a, b, c, y, spare, places, parts)
    for i in range(n):
        b[i] *= m[CHROMA_SCALE]
        c[i] *= m[CHROMA_SCALE]
    if has_mono:
        grey(m, a, b, c, spare)
    if has_tones:
        tint(tones, a, b, c, y, places, parts)
    fit(m, rounds, slack, a, b, c, room[6, :n], room[7, :n], room[8, :n], room[9:], places)


@compiled
def develop_rows(camera, m, tables, acts, rounds, slack, out):
    """Camera RGB (rows, width, 3) to linear output RGB in ``out`` of the same shape, float32."""
    room, nodes = np.empty((ROOM, CHUNK), np.float32), np.empty(CHUNK, np.int32)
    for row in range(camera.shape[0]):
        for start in range(0, camera.shape[1], CHUNK):
            n = min(CHUNK, camera.shape[1] - start)
            develop_chunk(camera[row, start : start + n], m, tables, acts, rounds, slack, room, nodes)
            for i in range(n):
                out[row, start + i, 0] = room[6, i]
                out[row, start + i, 1] = room[7, i]
                out[row, start + i, 2] = room[8, i]


@compiled
def develop_rows_8(camera, m, tables, acts, rounds, slack, codes, out, top, left):
    """As :func:`develop_rows`, straight to code values in ``out``, uint8, from ``top``, ``left`` on."""
    room, nodes = np.empty((ROOM, CHUNK), np.float32), np.empty(CHUNK, np.int32)
    for row in range(camera.shape[0]):
        for start in range(0, camera.shape[1], CHUNK):
            n = min(CHUNK, camera.shape[1] - start)
            develop_chunk(camera[row, start : start + n], m, tables, acts, rounds, slack, room, nodes)
            codes_of(
                codes, room[6, :n], room[7, :n], room[8, :n], out[top + row, left + start : left + start + n]
            )


@compiled
def encode_8(linear, table, out):
    """Linear RGB in [0, 1] to rounded sRGB code values; flat arrays."""
    bits, lowest, least = linear.view(np.int32), np.int32(CODE_LOWEST), np.int32(0)
    for i in range(linear.size):
        x = max(bits[i] - lowest, least)
        out[i] = (table[x >> CODE_SHIFT] + (x & 0xFFFF)) >> CODE_SHIFT


@compiled
def encode_float(linear, table, out):
    """Linear RGB in [0, 1] to encoded sRGB float32; flat arrays."""
    gained(linear, table, out)


@compiled
def decode_float(encoded, table, out):
    """Encoded sRGB in [0, 1] to linear RGB float32; flat arrays. Black stays black."""
    gained(encoded, table, out)
    for i in range(out.size):
        out[i] = out[i] if encoded[i] > np.float32(0) else np.float32(0)


@compiled
def gained(values, table, out):
    """Values times their gains, 1 at most."""
    parts, nodes = np.empty(CHUNK, np.float32), np.empty(CHUNK, np.int32)
    for start in range(0, values.size, CHUNK):
        n = min(CHUNK, values.size - start)
        x = out[start : start + n]
        for i in range(n):
            x[i] = values[start + i]
        gain(table, x, nodes[:n], parts[:n])
        for i in range(n):
            x[i] = min(x[i], np.float32(1))
