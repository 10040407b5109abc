"""The per-pixel stages as one compiled pass; the reference is :meth:`driftline.pipeline.plan.Plan.run`.

Each chunk of a row goes through short loops, so that arithmetic vectorises and only table look-ups stay
scalar. A loop touches few arrays, since of each pair it has to be seen first that they lie apart. Nothing
but + - × ÷ √, comparisons and tables in a fixed order touches a pixel: the result is the same bits on any
machine and thread count. Tables are made in float64 and rounded to float32.

A *gain table* holds f(x)/x and its step to the next node at 256 points an octave from 2^-24 to 2^8, found
straight from the bits of a float32 and interpolated linearly: relative error below 4e-6 for the curves used
here. Every table keeps a node's value and step side by side, so that one look-up touches one cache line.

The *code table* rounds to 8 bits: of 128 nodes an octave from 2^-13 to 1 each holds at most one place where
the code value rises, kept as a whole number to which the rest of the bits is added.
"""

from __future__ import annotations

import numpy as np

from driftline.pipeline.kernels.compilation import compiled, inlined

CHUNK = 1024
ROOM = 17  # rows of a chunk's length: nine to develop in, eight to bring colours into the gamut
EIGHT = 8  # flags, a byte each, that are looked at together
GAIN_SHIFT, HUE_SHIFT, TONE_SHIFT = 15, 12, 13  # of 23 bits of mantissa
ONE_BITS = 127 << 23
GAIN_LOWEST = (127 - 24) << (23 - GAIN_SHIFT)
HUE_LOWEST, TONE_LOWEST = 127 << (23 - HUE_SHIFT), 127 << (23 - TONE_SHIFT)
LEAST, MOST = np.float32(2.0**-24), np.float32(2.0**8 * (1 - 2.0**-24))
GAIN_NODES = 32 * 256
CODE_SHIFT = 16
CODE_LOWEST = (127 - 13) << 23
CODE_NODES = 13 * 128 + 1
CODE_LOW_BITS = np.int32((1 << CODE_SHIFT) - 1)
HUE_NODES = 2048
TONE_NODES = 1024

# Where each matrix or number lies in the array of settings.
CAMERA_TO_REC2020, LUMINANCE, REC2020_TO_LMS, LMS_TO_LAB = 0, 9, 12, 21
LAB_TO_LMS, LMS_TO_OUTPUT, CHROMA_SCALE, MONO_WEIGHTS, LMS_TO_REC2020 = 30, 39, 48, 49, 52
SETTINGS = 61

ZERO, ONE, HALF, TWO, FOUR = np.float32(0), np.float32(1), np.float32(0.5), np.float32(2), np.float32(4)
QUARTER, THIRD, TINY = np.float32(0.25), np.float32(1.0 / 3.0), np.float32(1e-30)
BELOW_ONE, BELOW_TWO = np.float32(1 - 2.0**-23), np.float32(2 - 2.0**-23)


@inlined
def within(x):
    """Light held within a gain table."""
    x = x if x > LEAST else LEAST
    return x if x < MOST else MOST


@inlined
def node_of(x, shift, lowest):
    """Node of x > 0 in a table: the exponent and the leading bits of the mantissa, ``shift`` being left."""
    return (np.float32(x).view(np.int32) >> np.int32(shift)) - np.int32(lowest)


@inlined
def part_of(x, shift):
    """How far x is on from its node to the next, 0 to 1: the bits that are left."""
    left = np.float32(x).view(np.int32) & np.int32((1 << shift) - 1)
    return np.int32((left << np.int32(23 - shift)) | np.int32(ONE_BITS)).view(np.float32) - ONE


@inlined
def take(table, column, nodes, pairs):
    """Value and step at each node, one behind the other, from a column of pairs.

    A pair is moved as one whole number, so that one load and one store are all that stays scalar. Nodes
    without a sign index fastest: none of them can count from the end.
    """
    both = table.view(np.int64)
    for i in range(nodes.size):
        pairs[i] = both[np.uint32(nodes[i]), column]
    return pairs.view(np.float32)


@compiled
def gain(table, x, nodes, parts, pairs):
    """Multiply each x in place by its gain; x is held within the table, 2^-24 to 2^8."""
    for i in range(x.size):
        light = within(x[i])
        x[i] = light
        nodes[i] = node_of(light, GAIN_SHIFT, GAIN_LOWEST)
        parts[i] = part_of(light, GAIN_SHIFT)
    at = take(table, 0, nodes, pairs)
    for i in range(x.size):
        x[i] = x[i] * (at[2 * i] + parts[i] * at[2 * i + 1])


@compiled
def code_of(table, light, codes):
    """8-bit code values of linear light up to 1, in the upper half of each number."""
    bits, lowest, least = light.view(np.int32), np.int32(CODE_LOWEST), np.int32(0)
    for i in range(light.size):
        codes[i] = max(bits[i] - lowest, least)
    for i in range(light.size):
        codes[i] = table[np.uint32(codes[i]) >> np.uint32(CODE_SHIFT)] + (codes[i] & CODE_LOW_BITS)


@inlined
def codes_of(table, red, green, blue, room, out):
    """8-bit code values (n, 3) of linear light up to 1; what is below 0 is black."""
    r, g, b = room[0, : red.size], room[1, : red.size], room[2, : red.size]
    code_of(table, red, r)
    code_of(table, green, g)
    code_of(table, blue, b)
    for i in range(red.size):
        out[i, 0] = r[i] >> CODE_SHIFT
        out[i, 1] = g[i] >> CODE_SHIFT
        out[i, 2] = b[i] >> CODE_SHIFT


@compiled
def cube_root(x):
    """Cube root of each x in place: a bit estimate of x^(-1/3), three Newton steps; relative error 4e-7."""
    for i in range(x.size):
        size = max(abs(x[i]), TINY)
        estimate = np.int32(np.float32(np.float32(size).view(np.int32)) * THIRD)
        r = np.int32(np.int32(0x54A21D2A) - estimate).view(np.float32)
        r = r * (FOUR - size * r * r * r) * THIRD
        r = r * (FOUR - size * r * r * r) * THIRD
        r = r * (FOUR - size * r * r * r) * THIRD
        root = size * r * r
        x[i] = root if x[i] >= ZERO else -root


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


@inlined
def cube(a, b, c):
    """Cube three channels in place."""
    for i in range(a.size):
        a[i] = a[i] * a[i] * a[i]
        b[i] = b[i] * b[i] * b[i]
        c[i] = c[i] * c[i] * c[i]


@inlined
def contrast(m, table, a, b, c, nodes, parts, pairs):
    """Scale the channels by the curve's gain at their luminance."""
    m0, m1, m2 = m[LUMINANCE], m[LUMINANCE + 1], m[LUMINANCE + 2]
    for i in range(a.size):
        y = within(m0 * a[i] + m1 * b[i] + m2 * c[i])
        nodes[i] = node_of(y, GAIN_SHIFT, GAIN_LOWEST)
        parts[i] = part_of(y, GAIN_SHIFT)
    at = take(table, 0, nodes, pairs)
    for i in range(a.size):
        by = at[2 * i] + parts[i] * at[2 * i + 1]
        a[i] *= by
        b[i] *= by
        c[i] *= by


@inlined
def to_lab(m, a, b, c):
    """Linear Rec. 2020 to Oklab in place."""
    product(m, REC2020_TO_LMS, a, b, c)
    cube_root(a)
    cube_root(b)
    cube_root(c)
    product(m, LMS_TO_LAB, a, b, c)


@inlined
def bands(table, lightens, L, a, b, nodes, parts, pairs, more):
    """Turn, scale and lighten by hue; the table is laid out over the angle's pseudo-measure b/(|a|+|b|)."""
    for i in range(L.size):
        x, y = a[i], b[i]
        part = y / (abs(x) + abs(y) + np.float32(1e-12))
        right = part if y >= ZERO else FOUR + part
        turn = ONE + (TWO - part if x < ZERO else right) * QUARTER
        turn = turn if turn < BELOW_TWO else BELOW_TWO
        nodes[i] = node_of(turn, HUE_SHIFT, HUE_LOWEST)
        parts[i] = part_of(turn, HUE_SHIFT)
    if lightens:
        at = take(table, 2, nodes, pairs)
        for i in range(L.size):
            chroma = np.sqrt(a[i] * a[i] + b[i] * b[i]) * np.float32(25)
            strength = chroma if chroma < ONE else ONE
            L[i] += (at[2 * i] + parts[i] * at[2 * i + 1]) * strength
    cosines, sines = take(table, 0, nodes, pairs), take(table, 1, nodes, more)
    for i in range(L.size):
        x, y = a[i], b[i]
        cosine = cosines[2 * i] + parts[i] * cosines[2 * i + 1]
        sine = sines[2 * i] + parts[i] * sines[2 * i + 1]
        a[i] = x * cosine - y * sine
        b[i] = x * sine + y * cosine


@inlined
def tint(table, L, a, b, nodes, parts, pairs, more):
    """Add the split tones by lightness."""
    for i in range(L.size):
        light = L[i] if L[i] > ZERO else ZERO
        place = ONE + (light if light < BELOW_ONE else BELOW_ONE)
        nodes[i] = node_of(place, TONE_SHIFT, TONE_LOWEST)
        parts[i] = part_of(place, TONE_SHIFT)
    along_a, along_b = take(table, 0, nodes, pairs), take(table, 1, nodes, more)
    for i in range(L.size):
        a[i] += along_a[2 * i] + parts[i] * along_a[2 * i + 1]
        b[i] += along_b[2 * i] + parts[i] * along_b[2 * i + 1]


@inlined
def grey(m, L, a, b):
    """Weigh linear channels into one grey."""
    product(m, LAB_TO_LMS, L, a, b)
    cube(L, a, b)
    product(m, LMS_TO_REC2020, L, a, b)
    for i in range(L.size):
        light = m[MONO_WEIGHTS] * L[i] + m[MONO_WEIGHTS + 1] * a[i] + m[MONO_WEIGHTS + 2] * b[i]
        L[i] = max(light, ZERO)
        a[i] = ZERO
        b[i] = ZERO
    cube_root(L)


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


@inlined
def listed(flags, size, places):
    """Where the first ``size`` flags are set; there are hardly any, so eight of them are passed at a time."""
    found, together = 0, flags.view(np.int64)
    for k in range((size + EIGHT - 1) // EIGHT):
        if together[k]:
            for i in range(EIGHT * k, min(EIGHT * k + EIGHT, size)):
                places[found] = i
                found += flags[i]
    return places[:found]


@compiled
def fit(m, rounds, slack, L, a, b, red, green, blue, room, places, flags):
    """Oklab to linear output RGB within ``slack`` of [0, 1], taking out chroma where it must."""
    low, high = -slack, ONE + slack
    output_of(m, L, a, b, red, green, blue)
    outside = 0
    for i in range(L.size):
        outside += (min(red[i], green[i], blue[i]) < low) | (max(red[i], green[i], blue[i]) > high)
    if outside:
        for i in range(L.size):
            flags[i] = (min(red[i], green[i], blue[i]) < low) | (max(red[i], green[i], blue[i]) > high)
        found = listed(flags, L.size, places)
        most_chromatic(m, rounds, low, high, L, a, b, found, room)
        for i in range(found.size):
            red[found[i]], green[found[i]], blue[found[i]] = room[5, i], room[6, i], room[7, i]


@inlined
def chunk_room():
    """What a chunk is developed in: rows of numbers, nodes, pairs, and flags."""
    room, nodes = np.empty((ROOM, CHUNK), np.float32), np.empty((3, CHUNK), np.int32)
    return room, nodes, np.empty((2, CHUNK), np.int64), np.zeros(CHUNK, np.uint8)


@compiled
def develop_chunk(camera, m, tables, acts, rounds, slack, rooms):
    """One chunk of a row, (n, 3) balanced camera RGB, to linear output RGB.

    Returns
    -------
    tuple
        (n,) red, green and blue, within ``slack`` of [0, 1].
    """
    room, nodes, pairs, flags = rooms
    n = camera.shape[0]
    a, b, c, parts, places = room[0, :n], room[1, :n], room[2, :n], room[3, :n], nodes[0, :n]
    two, more = pairs[0, :n], pairs[1, :n]
    red, green, blue = room[6, :n], room[7, :n], room[8, :n]
    curve, standing, hues, tones = tables
    has_curve, has_hues, lightens, has_mono, has_tones = acts
    for i in range(n):
        a[i] = camera[i, 0]
        b[i] = camera[i, 1]
        c[i] = camera[i, 2]
    product(m, CAMERA_TO_REC2020, a, b, c)
    if has_curve:
        contrast(m, curve, a, b, c, places, parts, two)
    gain(standing, a, places, parts, two)
    gain(standing, b, places, parts, two)
    gain(standing, c, places, parts, two)
    to_lab(m, a, b, c)
    if has_hues:
        bands(hues, lightens, a, b, c, places, parts, two, more)
    scale = m[CHROMA_SCALE]
    for i in range(n):
        b[i] *= scale
        c[i] *= scale
    if has_mono:
        grey(m, a, b, c)
    if has_tones:
        tint(tones, a, b, c, places, parts, two, more)
    fit(m, rounds, slack, a, b, c, red, green, blue, room[9:], places, flags)
    return red, green, blue


@compiled
def develop_rows(camera, m, tables, acts, rounds, slack, out):
    """Camera RGB (rows, width, 3) to linear output RGB in ``out`` of the same shape, float32 in [0, 1]."""
    rooms = chunk_room()
    for row in range(camera.shape[0]):
        for start in range(0, camera.shape[1], CHUNK):
            end = min(start + CHUNK, camera.shape[1])
            part, line = camera[row, start:end], out[row, start:end]
            red, green, blue = develop_chunk(part, m, tables, acts, rounds, slack, rooms)
            for i in range(end - start):
                line[i, 0] = min(max(red[i], ZERO), ONE)
                line[i, 1] = min(max(green[i], ZERO), ONE)
                line[i, 2] = min(max(blue[i], ZERO), ONE)


@compiled
def develop_rows_8(camera, m, tables, acts, rounds, slack, codes, out, top, left):
    """As :func:`develop_rows`, straight to code values in ``out``, uint8, from ``top``, ``left`` on."""
    rooms = chunk_room()
    for row in range(camera.shape[0]):
        for start in range(0, camera.shape[1], CHUNK):
            end = min(start + CHUNK, camera.shape[1])
            part, line = camera[row, start:end], out[top + row, left + start : left + end]
            red, green, blue = develop_chunk(part, m, tables, acts, rounds, slack, rooms)
            codes_of(codes, red, green, blue, rooms[1], line)


@compiled
def encode_8(linear, table, out):
    """Linear RGB in [0, 1] to rounded sRGB code values; flat arrays."""
    bits, lowest, least = linear.view(np.int32), np.int32(CODE_LOWEST), np.int32(0)
    for i in range(linear.size):
        x = max(bits[i] - lowest, least)
        out[i] = (table[x >> CODE_SHIFT] + (x & CODE_LOW_BITS)) >> CODE_SHIFT


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
    parts, nodes, pairs = np.empty(CHUNK, np.float32), np.empty(CHUNK, np.int32), np.empty(CHUNK, np.int64)
    for start in range(0, values.size, CHUNK):
        n = min(CHUNK, values.size - start)
        x = out[start : start + n]
        for i in range(n):
            x[i] = values[start + i]
        gain(table, x, nodes[:n], parts[:n], pairs[:n])
        for i in range(n):
            x[i] = min(x[i], np.float32(1))
