"""Lossless JPEG by ITU-T T.81: process 14, predictor 1, as DNG stores a mosaic."""

from __future__ import annotations

import struct

import numpy as np
from numpy.typing import NDArray

_CLASSES = 17  # SSSS 0 … 16, T.81 table H.2


def _differences(samples: NDArray[np.uint16], precision: int) -> NDArray[np.int32]:
    """Prediction differences modulo 2^16 of (rows, columns, components), T.81 H.1.2.1 and H.2.

    The left neighbour predicts; the first column takes the one above, the first sample 2^(P-1).
    """
    wide = samples.astype(np.int32)
    prediction = np.empty_like(wide)
    prediction[:, 1:] = wide[:, :-1]
    prediction[1:, 0] = wide[:-1, 0]
    prediction[0, 0] = 1 << (precision - 1)
    difference = (wide - prediction) & 0xFFFF
    return np.where(difference > 0x8000, difference - 0x10000, difference)


def _classes(differences: NDArray[np.int32]) -> NDArray[np.uint8]:
    """SSSS, the number of bits of each magnitude."""
    _, exponent = np.frexp(np.abs(differences).astype(np.float64))
    return exponent.astype(np.uint8)


def code_lengths(counts: NDArray[np.int64]) -> NDArray[np.int64]:
    """Huffman code lengths of at most 16 bits for symbol counts, the all-ones code left free (T.81 K.2).

    Examples
    --------
    >>> code_lengths(np.array([8, 4, 2, 0])).tolist()
    [1, 2, 3, 0]
    """
    weights: dict[tuple[int, ...], int] = {(s,): int(c) for s, c in enumerate(counts) if c}
    reserved = len(counts)  # one symbol that is never used takes the all-ones code
    weights[(reserved,)] = 0
    lengths = np.zeros(len(counts) + 1, dtype=np.int64)
    while len(weights) > 1:
        least, next_least = sorted(weights, key=lambda group: (weights[group], -max(group)))[:2]
        for symbol in least + next_least:
            lengths[symbol] += 1
        weights[least + next_least] = weights.pop(least) + weights.pop(next_least)
    tally = np.bincount(lengths[lengths > 0], minlength=33)
    for bits in range(32, 16, -1):  # T.81 figure K.3: shorten what is longer than 16 bits
        while tally[bits] > 0:
            shorter = bits - 2
            while tally[shorter] == 0:
                shorter -= 1
            tally[bits] -= 2
            tally[bits - 1] += 1
            tally[shorter + 1] += 2
            tally[shorter] -= 1
    order = sorted((s for s in range(len(counts)) if lengths[s]), key=lambda s: (lengths[s], s))
    limited = np.repeat(np.arange(33), tally)[: len(order)]  # the longest one stays with the reserved code
    lengths[:] = 0
    lengths[order] = limited
    return lengths[:-1]


def _codes(lengths: NDArray[np.int64]) -> tuple[NDArray[np.int64], list[int]]:
    """Canonical codes by T.81 annex C, and the symbols in code order."""
    order = sorted((s for s in range(len(lengths)) if lengths[s]), key=lambda s: (lengths[s], s))
    codes = np.zeros(len(lengths), dtype=np.int64)
    code = 0
    previous = int(lengths[order[0]])
    for symbol in order:
        code <<= int(lengths[symbol]) - previous
        previous = int(lengths[symbol])
        codes[symbol] = code
        code += 1
    return codes, order


def _pack(values: NDArray[np.int64], widths: NDArray[np.int64]) -> bytes:
    """Join bit strings of up to 32 bits, pad with ones, and stuff a zero after each 0xFF (T.81 B.1.1.5)."""
    ends = np.cumsum(widths)
    starts = ends - widths
    total = int(ends[-1])
    size = (total + 7) // 8
    window = values << (40 - widths - (starts & 7))  # 40 bits from the byte the string starts in
    packed = np.zeros(size + 5, dtype=np.float64)
    for k in range(5):
        byte = (window >> (32 - 8 * k)) & 0xFF
        packed += np.bincount((starts >> 3) + k, weights=byte, minlength=size + 5)
    stream = packed[:size].astype(np.uint8)
    if total % 8:
        stream[-1] |= (1 << (8 - total % 8)) - 1
    return stream.tobytes().replace(b"\xff", b"\xff\x00")


def _segment(marker: int, content: bytes) -> bytes:
    return struct.pack(">HH", marker, len(content) + 2) + content


def _headers(
    shape: tuple[int, int, int], precision: int, lengths: NDArray[np.int64], order: list[int]
) -> bytes:
    """Everything before the entropy-coded segment: SOI, DHT, SOF3, SOS."""
    rows, columns, components = shape
    per_length = bytes(int((lengths == bits).sum()) for bits in range(1, 17))
    frame = struct.pack(">BHHB", precision, rows, columns, components)
    frame += b"".join(bytes((c, 0x11, 0)) for c in range(components))
    scan = bytes((components,)) + b"".join(bytes((c, 0)) for c in range(components)) + bytes((1, 0, 0))
    return (
        b"\xff\xd8"
        + _segment(0xFFC4, b"\0" + per_length + bytes(order))
        + _segment(0xFFC3, frame)
        + _segment(0xFFDA, scan)
    )


def encode(samples: NDArray[np.uint16], *, precision: int = 16) -> bytes:
    """Encode (rows, columns, components) samples as one lossless JPEG image.

    Parameters
    ----------
    samples
        uint16, 1 to 4 interleaved components, values below ``2 ** precision``.
    precision
        Bits a sample, 2 to 16.

    Raises
    ------
    ValueError
        If a sample needs more bits than ``precision``, or there are not 1 to 4 components.

    Examples
    --------
    >>> encode(np.full((2, 2, 1), 512, np.uint16), precision=10)[:2].hex()
    'ffd8'
    """
    if samples.ndim != 3 or not 1 <= samples.shape[2] <= 4:
        raise ValueError(f"samples have shape {samples.shape}; expected (rows, columns, 1 to 4 components)")
    if samples.size == 0 or int(samples.max()) >= 1 << precision:
        raise ValueError(f"samples do not fit {precision} bits, or there are none")
    differences = _differences(samples, precision).ravel()
    classes = _classes(differences).astype(np.int64)
    lengths = code_lengths(np.bincount(classes, minlength=_CLASSES))
    codes, order = _codes(lengths)
    extra = np.where(classes == 16, 0, classes)
    magnitude = np.where(differences < 0, differences - 1, differences) & ((1 << extra) - 1)
    stream = _pack((codes[classes] << extra) | magnitude, lengths[classes] + extra)
    rows, columns, components = samples.shape
    return _headers((rows, columns, components), precision, lengths, order) + stream + b"\xff\xd9"
