"""What a DNG file itself states about its lens: radial distortion and falloff (DNG specification, chapter 7).

Read are WarpRectilinear (1) and FixVignetteRadial (3) of OpcodeList2 and OpcodeList3. Both state polynomials
of r², r = 1 at the corner that lies farthest from their own centre. An opcode with its centre off the middle,
one that shifts sideways, and every other opcode is left aside.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from driftline.frames.directories import Directory, read_directories

OPCODE_LISTS = (51009, 51022)
_WARP, _VIGNETTE = 1, 3
_OFF_THE_MIDDLE = 0.02
_SIDEWAYS = 1e-4
_RADII = np.linspace(0.05, 1.0, 96)
TERMS = 3


@dataclass(frozen=True)
class StatedLens:
    """What is to be undone, as terms of r², r⁴ and r⁶; r is 1 at the corner.

    Attributes
    ----------
    distortion
        What belongs at r was seen at r (1 + k1 r² + k2 r⁴ + k3 r⁶), but for a change of scale.
    falloff_ev
        EV by which a place at r must brighten. Zeros where the file states none.
    """

    distortion: tuple[float, ...]
    falloff_ev: tuple[float, ...]


def stated_lens(path: Path) -> StatedLens | None:
    """What a DNG states of its lens; None for other files and where it states nothing that can be used."""
    directories = read_directories(path)
    sensor = directories.sensor if directories.is_dng else None
    return None if sensor is None else lens_of_opcodes(_lists(sensor))


def _lists(sensor: Directory) -> Iterator[bytes]:
    for code in OPCODE_LISTS:
        content = sensor.tags.get(code)
        if isinstance(content, bytes | tuple | list):
            yield bytes(content)


def lens_of_opcodes(lists: Iterator[bytes]) -> StatedLens | None:
    """The same from the contents of the tags."""
    distortion = falloff = (0.0,) * TERMS
    found = False
    for number, body in (opcode for content in lists for opcode in _opcodes(content)):
        if number == _WARP and (terms := _warp(body)):
            distortion, found = terms, True
        elif number == _VIGNETTE and (terms := _vignette(body)):
            falloff, found = terms, True
    return StatedLens(distortion, falloff) if found else None


def _opcodes(content: bytes) -> Iterator[tuple[int, bytes]]:
    """Number and parameters of each opcode: a count, then identity, version, flags, length, parameters."""
    count = int.from_bytes(content[:4], "big")
    at = 4
    for _ in range(min(count, 64)):
        if at + 16 > len(content):
            return
        number, _, _, length = struct.unpack_from(">IIII", content, at)
        yield number, content[at + 16 : at + 16 + length]
        at += 16 + length


def _warp(body: bytes) -> tuple[float, ...] | None:
    """kr0 … kr3, kt0, kt1 of each plane, then the centre; of three planes the green one."""
    if len(body) < 4:
        return None
    planes = int.from_bytes(body[:4], "big")
    if planes not in (1, 3) or len(body) != 4 + 8 * (6 * planes + 2):
        return None
    numbers = struct.unpack(f">{6 * planes + 2}d", body[4:])
    radial, sideways = numbers[6 * (planes // 2) :][:4], numbers[6 * (planes // 2) :][4:6]
    if not _in_the_middle(numbers[-2:]) or max(map(abs, sideways)) > _SIDEWAYS or not 0.5 < radial[0] < 2:
        return None
    return _checked(tuple(term / radial[0] for term in radial[1:]), largest=0.5)


def _vignette(body: bytes) -> tuple[float, ...] | None:
    """k0 … k4 of a gain 1 + k0 r² + … + k4 r¹⁰, then the centre; as EV in three terms."""
    if len(body) != 8 * 7:
        return None
    *terms, x, y = struct.unpack(">7d", body)
    gain = 1 + sum(term * _RADII ** (2 * n + 2) for n, term in enumerate(terms))
    if not _in_the_middle((x, y)) or not np.isfinite(gain).all() or gain.min() <= 0:
        return None
    basis: NDArray[np.float64] = np.stack([_RADII ** (2 * n + 2) for n in range(TERMS)], axis=1)
    found = np.linalg.lstsq(basis, np.log2(gain), rcond=None)[0]
    return _checked(tuple(float(term) for term in found), largest=5.0)


def _in_the_middle(centre: tuple[float, ...]) -> bool:
    return all(abs(place - 0.5) <= _OFF_THE_MIDDLE for place in centre)


def _checked(terms: tuple[float, ...], *, largest: float) -> tuple[float, ...] | None:
    usable = all(np.isfinite(term) and abs(term) <= largest for term in terms)
    return tuple(round(term, 6) for term in terms) if usable else None
