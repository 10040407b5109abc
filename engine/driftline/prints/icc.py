"""ICC profiles of our own for the output spaces: the same bytes on every machine and every day.

ICC.1:2022 (profile version 4.4), class "mntr", three primaries and one parametric curve. White is D65,
adapted to the D50 of the connection space by Bradford (annex E); the ``chad`` tag keeps that matrix. The
creation date is fixed, and the profile identifier is the MD5 of section 7.2.18.
"""

from __future__ import annotations

import hashlib
import struct
from collections.abc import Sequence
from functools import cache
from typing import Final, Literal, TypeAlias, get_args

import numpy as np
from numpy.typing import ArrayLike

from driftline.arrays import Matrix
from driftline.colorimetry.adaptation import adaptation_matrix
from driftline.colorimetry.primaries import D65_XY, P3_XY, SRGB_XY, rgb_to_XYZ, xy_to_XYZ
from driftline.errors import UsageError

Space: TypeAlias = Literal["srgb", "display-p3"]

PCS_WHITE: Final = np.array([0xF6D6, 0x10000, 0xD32D]) / 0x10000
"""D50 of the connection space exactly as ICC.1 writes it in s15Fixed16 (7.2.16)."""

_PRIMARIES = {"srgb": (SRGB_XY, "sRGB, IEC 61966-2-1"), "display-p3": (P3_XY, "Display P3")}
_SRGB_CURVE = (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)
_CREATED = (2020, 1, 1, 0, 0, 0)
_RIGHTS = "No rights reserved: free to use, copy and change."


@cache
def icc_profile(space: Space) -> bytes:
    """The ICC profile of an output space.

    Parameters
    ----------
    space
        ``"srgb"`` (IEC 61966-2-1) or ``"display-p3"`` (SMPTE EG 432-1 primaries, D65, the sRGB curve).

    Returns
    -------
    bytes
        About 600 bytes; equal on every machine and date.

    Raises
    ------
    UsageError
        ``unknown-space``.

    Examples
    --------
    >>> profile = icc_profile("srgb")
    >>> int.from_bytes(profile[:4], "big") == len(profile), profile[36:40]
    (True, b'acsp')
    """
    if space not in _PRIMARIES:
        raise UsageError(
            "unknown-space", f"output space {space!r}; known: {', '.join(get_args(Space))}", hint="srgb"
        )
    primaries, description = _PRIMARIES[space]
    to_pcs, adaptation = _pcs_matrix(primaries)
    curve = b"para" + struct.pack(">IHH", 0, 3, 0) + _fixed(_SRGB_CURVE)
    tags = [
        (b"desc", _text(description)),
        (b"cprt", _text(_RIGHTS)),
        (b"wtpt", _xyz(PCS_WHITE)),
        (b"chad", b"sf32" + bytes(4) + _fixed(adaptation.ravel())),
        (b"rXYZ", _xyz(to_pcs[:, 0])),
        (b"gXYZ", _xyz(to_pcs[:, 1])),
        (b"bXYZ", _xyz(to_pcs[:, 2])),
        (b"rTRC", curve),
        (b"gTRC", curve),
        (b"bTRC", curve),
    ]
    return _with_identifier(_assemble(tags))


def _pcs_matrix(primaries_xy: ArrayLike) -> tuple[Matrix, Matrix]:
    """Linear RGB to the D50 connection space in whole 1/65536, rows summing to white; and the adaptation."""
    adaptation = adaptation_matrix(xy_to_XYZ(D65_XY), PCS_WHITE, method="bradford")
    to_pcs = np.round(adaptation @ rgb_to_XYZ(primaries_xy, D65_XY) * 0x10000) / 0x10000
    to_pcs[:, 1] += PCS_WHITE - to_pcs.sum(axis=1)  # rounding of a row goes to green, so that white is white
    return to_pcs, adaptation


def _fixed(values: ArrayLike) -> bytes:
    """Numbers as s15Fixed16 (4.6)."""
    whole = np.round(np.asarray(values, dtype=np.float64) * 0x10000).astype(int)
    return struct.pack(f">{whole.size}i", *whole.tolist())


def _xyz(values: ArrayLike) -> bytes:
    return b"XYZ " + bytes(4) + _fixed(values)


def _text(words: str) -> bytes:
    """One English entry of a multiLocalizedUnicodeType (10.15)."""
    letters = words.encode("utf-16-be")
    return b"mluc" + struct.pack(">III2s2sII", 0, 1, 12, b"en", b"US", len(letters), 28) + letters


def _assemble(tags: Sequence[tuple[bytes, bytes]]) -> bytes:
    """Header, tag table and tag data; equal data is stored once (7.3)."""
    start = 128 + 4 + 12 * len(tags)
    table, body, places = [struct.pack(">I", len(tags))], b"", dict[bytes, int]()
    for signature, content in tags:
        if content not in places:
            places[content] = start + len(body)
            body += content + bytes(-len(content) % 4)
        table.append(struct.pack(">4sII", signature, places[content], len(content)))
    return _header(start + len(body)) + b"".join(table) + body


def _header(size: int) -> bytes:
    """The 128 bytes of section 7.2; intent perceptual, no platform, no device, identifier still empty."""
    head = struct.pack(
        ">I4sI4s4s4s6H4s", size, bytes(4), 0x04400000, b"mntr", b"RGB ", b"XYZ ", *_CREATED, b"acsp"
    )
    return (head + bytes(28) + _fixed(PCS_WHITE)).ljust(128, b"\0")


def _with_identifier(profile: bytes) -> bytes:
    """The profile with its MD5 at byte 84; flags, intent and identifier are zero while it is taken."""
    digest = hashlib.md5(profile, usedforsecurity=False).digest()
    return profile[:84] + digest + profile[100:]
