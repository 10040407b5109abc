"""White, chroma, hue and split tint, estimated together so that a change of one does not leak into another.

Colour is z = (a + ib) / L in Oklab. Scaling R, G and B alike, as exposure and a luminance curve do, leaves z
alone; a change of chroma and hue multiplies it by one complex number c; a change of white adds to it, very
nearly. Both are solved together: z_B = t + c z_A by a robust regression, t is turned into a white and undone
on B by Bradford adaptation, until none is left. Both directions are averaged.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.adaptation import adaptation_matrix
from driftline.colorimetry.oklab import oklab_to_srgb
from driftline.colorimetry.primaries import D65_XY, SRGB_TO_XYZ, XYZ_to_xy, xy_to_XYZ
from driftline.colorimetry.temperature import xy_to_cct_duv
from driftline.drift.planes import Planes, dot, from_oklab, mixed, relative_colour, to_oklab

DARKEST = 0.25  # Oklab L below which colour is rounding and noise
WHITE_AT = 0.75  # Oklab L at which an offset of z is read as a white
_ROUNDS, _SETTLED, _SCALE_EVERY = 12, 1e-6, 5
_ROUNDING = 0.02  # Oklab; about five steps of 8 bits
_WHITE_ROUNDS = 4
_D65 = xy_to_XYZ(D65_XY)
_XYZ_TO_SRGB = np.linalg.inv(SRGB_TO_XYZ)

SECTORS = {"hue_skin": (20.0, 70.0), "hue_foliage": (100.0, 150.0), "hue_sky": (230.0, 275.0)}
"""Oklab hue ranges; the ColorChecker patches of these names lie at 38 … 42, 126 and 253 degrees."""
_COLOURED = 0.06  # |z| from which a pixel has a hue to speak of
_NEAR = np.radians(5.0)

ZONES = ((0.25, 0.45), (0.45, 0.70), (0.70, 1.01))
_ZONE_PIXELS = 200


@dataclass(frozen=True)
class OneWay:
    """The regression in one direction: the picture reached is white(c · start)."""

    c: complex
    white: NDArray[Any]  # (3, 3) linear sRGB
    z_start: NDArray[Any]
    z_end: NDArray[Any]  # of the picture reached, with the white undone


@dataclass(frozen=True)
class Colour:
    """What changed in colour from A to B; see :mod:`driftline.drift.causes` for the units."""

    white: float
    duv: float
    chroma: float
    hue: float
    sectors: dict[str, float | None]
    split: complex | None
    mean_z: float
    forth: OneWay
    back: OneWay


def fit_colour(rgb_A: Planes, rgb_B: Planes, *, coloured: bool = True, fewest: int = 200) -> Colour:
    """White, chroma, hue, hue by sector and split tint of B against A.

    Parameters
    ----------
    rgb_A, rgb_B
        (3, n) float64 linear sRGB of the same places, inside both gamuts and light enough (``DARKEST``).
    coloured
        False: both are so nearly grey that chroma and hue are taken to be the same; what differs is white.
    fewest
        Places of a sector below which its hue is not read.
    """
    lab_A, lab_B = to_oklab(rgb_A), to_oklab(rgb_B)
    z_A, z_B = relative_colour(lab_A), relative_colour(lab_B)
    weight = (lab_A[0] + lab_B[0]) / 2
    line = robust_line if coloured else robust_offset
    forth = _one_way(z_A, z_B, rgb_B, weight, line)
    back = _one_way(z_B, z_A, rgb_A, weight, line)
    forth_mired, forth_duv = _white(forth.white)
    back_mired, back_duv = _white(back.white)
    c = np.sqrt(forth.c / back.c)
    c = c if (c * np.conj(forth.c)).real > 0 else -c
    return Colour(
        white=(forth_mired - back_mired) / 2,
        duv=1e3 * (forth_duv - back_duv) / 2,
        chroma=float(np.log2(abs(c))),
        hue=float(np.degrees(np.angle(c))),
        sectors=_sectors(forth, back, weight, fewest),
        split=_split(forth, back, complex(c), weight),
        mean_z=float(max(abs(z_A.mean()), abs(z_B.mean()))),
        forth=forth,
        back=back,
    )


def coloured(lab: Planes, way: OneWay) -> Planes:
    """Linear sRGB of Oklab (3, n) with the chroma, hue and white of the picture that ``way`` reaches."""
    a, b = lab[1], lab[2]
    moved = np.stack([lab[0], a * way.c.real - b * way.c.imag, a * way.c.imag + b * way.c.real])
    return mixed(from_oklab(moved), way.white)


def greyed(lab: Planes) -> Planes:
    """Linear sRGB of Oklab (3, n) without its colour: the grey of the same lightness."""
    return np.repeat(lab[:1] ** 3, 3, axis=0)


def robust_line(
    z_A: NDArray[Any], z_B: NDArray[Any], lightness: NDArray[Any], start: complex = 1 + 0j
) -> tuple[complex, complex]:
    """t and c of z_B = t + c z_A by iteratively reweighted least squares (Huber 1964, k = 1.345).

    Rounding and noise of z grow as 1 / L, so misses are taken times L. A miss of less than ``_ROUNDING``
    is no outlier: where most of a picture is weak colour, rounded to the value it had, it must not
    outvote the colours that moved.
    """
    base = lightness * lightness
    w, c = base, start
    for _ in range(_ROUNDS):
        total = w.sum()
        mean_A, mean_B = complex(dot(w, z_A) / total), complex(dot(w, z_B) / total)
        d_A = z_A - mean_A
        moved = complex(dot(w * d_A.conj(), z_B - mean_B) / dot(w, d_A.real**2 + d_A.imag**2))
        settled = abs(moved - c) < _SETTLED
        c, t = moved, mean_B - moved * mean_A
        if settled:
            break
        miss = np.abs(z_B - t - c * z_A) * lightness
        limit = max(1.345 * 1.4826 * float(np.median(miss[::_SCALE_EVERY])), _ROUNDING)
        w = base * np.minimum(1.0, limit / np.maximum(miss, 1e-12))
    return t, c


def robust_offset(
    z_A: NDArray[Any], z_B: NDArray[Any], lightness: NDArray[Any], start: complex = 1 + 0j
) -> tuple[complex, complex]:
    """t of z_B = t + z_A, and 1: for pictures so nearly grey that no change of chroma or hue can be read."""
    base = lightness * lightness
    w, moved = base, z_B - z_A
    for _ in range(_ROUNDS):
        t = complex(dot(w, moved) / w.sum())
        miss = np.abs(moved - t) * lightness
        limit = max(1.345 * 1.4826 * float(np.median(miss[::_SCALE_EVERY])), 1e-9)
        w = base * np.minimum(1.0, limit / np.maximum(miss, 1e-12))
    return t, 1 + 0j


_Line = Callable[[NDArray[Any], NDArray[Any], NDArray[Any], complex], tuple[complex, complex]]


def _one_way(
    z_A: NDArray[Any], z_B: NDArray[Any], rgb_B: Planes, weight: NDArray[Any], line: _Line
) -> OneWay:
    undo, z, c = np.eye(3), z_B, 1 + 0j
    for _ in range(_WHITE_ROUNDS):
        t, c = line(z_A, z, weight, c)
        undo = _undo_white(t) @ undo
        z = relative_colour(to_oklab(mixed(rgb_B, undo)))
        if abs(t) < _SETTLED:
            break
    _, c = line(z_A, z, weight, c)
    return OneWay(c=c, white=np.linalg.inv(undo), z_start=z_A, z_end=z)


def _undo_white(t: complex) -> NDArray[Any]:
    lab = np.array([WHITE_AT, WHITE_AT * t.real, WHITE_AT * t.imag])
    XYZ = SRGB_TO_XYZ @ oklab_to_srgb(lab)
    return np.asarray(_XYZ_TO_SRGB @ adaptation_matrix(XYZ / XYZ[1], _D65) @ SRGB_TO_XYZ)


def _white(matrix: NDArray[Any]) -> tuple[float, float]:
    """Mired and Duv by which a matrix in linear sRGB moves D65."""
    kelvin, duv = xy_to_cct_duv(XYZ_to_xy(SRGB_TO_XYZ @ matrix @ np.ones(3)))
    kelvin_0, duv_0 = xy_to_cct_duv(D65_XY)
    return 1e6 / kelvin - 1e6 / kelvin_0, duv - duv_0


def _sectors(forth: OneWay, back: OneWay, L: NDArray[Any], fewest: int) -> dict[str, float | None]:
    """Hue turn within each sector; a pixel's sector is by its mean colour in the two pictures.

    Where a turn has carried nearly all colours out of a sector, by its colour in either of them.
    """
    middle = (forth.z_start + forth.z_end + back.z_start + back.z_end) / 4
    each = (forth.z_start + back.z_end) / 2, (forth.z_end + back.z_start) / 2
    pull = (forth.z_end * forth.z_start.conj() + back.z_start * back.z_end.conj()) * L * L
    turns: dict[str, float | None] = {}
    for key, sector in SECTORS.items():
        inside = _within(middle, *sector)
        if np.count_nonzero(inside) < fewest:
            inside = _within(each[0], *sector) | _within(each[1], *sector)
        enough = np.count_nonzero(inside) >= fewest
        turns[key] = _turn(pull[inside]) if enough else None
    return turns


def _within(z: NDArray[Any], start: float, end: float) -> NDArray[np.bool_]:
    """Which colours have a hue to speak of, and that in a sector."""
    hue = np.degrees(np.angle(z)) % 360
    return np.asarray((np.abs(z) > _COLOURED) & (hue >= start) & (hue < end))


def _turn(pull: NDArray[Any]) -> float:
    """The angle of most of some products, degrees: their mean without those far from the middle one.

    Strong colours count for more than their strength: weak ones are rounded back to the hue they had.
    """
    middle = np.exp(1j * float(np.median(np.angle(pull))))
    off = np.abs(np.angle(pull / middle))
    near = off <= max(4 * float(np.median(off)), _NEAR)
    strong = pull[near] * np.abs(pull[near])
    return float(np.degrees(np.angle(strong.sum())))


def _split(forth: OneWay, back: OneWay, c: complex, L: NDArray[Any]) -> complex | None:
    """Tint of the lightest zone less that of the darkest, 100 z; None without two zones to compare."""
    root = np.sqrt(c)
    left = (forth.z_end / root - root * forth.z_start) - (root * back.z_end - back.z_start / root)
    tints = []
    for start, end in ZONES:
        zone = left[np.greater_equal(L, start) & np.less(L, end)]
        if len(zone) >= _ZONE_PIXELS:
            tints.append(complex(np.median(zone.real), np.median(zone.imag)) / 2)
    return 100 * (tints[-1] - tints[0]) if len(tints) > 1 else None
