"""White, chroma, hue and split tint, estimated together so that a change of one does not leak into another.

Colour is z = (a + ib) / L in Oklab. Scaling R, G and B alike, as exposure and a luminance curve do, leaves z
alone; a change of chroma and hue multiplies it by one complex number c; a change of white adds to it, very
nearly; split-toning adds to it by lightness. All are solved together: z_B = t + tint(L) + c z_A by a robust
regression, the tint of no weight over the picture; t is turned into a white and undone on B by Bradford
adaptation, until none is left. Both directions are averaged.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.adaptation import adaptation_matrix
from driftline.colorimetry.oklab import oklab_to_srgb
from driftline.colorimetry.primaries import D65_XY, SRGB_TO_XYZ, XYZ_to_xy, xy_to_XYZ
from driftline.colorimetry.temperature import xy_to_cct_duv
from driftline.drift.passes import recolour
from driftline.drift.planes import Planes, from_oklab, mixed, relative_colour, to_oklab
from driftline.drift.regression import Steps, robust_line, steps_of

DARKEST = 0.25  # Oklab L below which colour is rounding and noise
WHITE_AT = 0.75  # Oklab L at which an offset of z is read as a white
_WHITE_ROUNDS, _SETTLED = 4, 1e-6
_D65 = xy_to_XYZ(D65_XY)
_XYZ_TO_SRGB = np.linalg.inv(SRGB_TO_XYZ)

SECTORS = {"hue_skin": (20.0, 70.0), "hue_foliage": (100.0, 150.0), "hue_sky": (230.0, 275.0)}
"""Oklab hue ranges; the ColorChecker patches of these names lie at 38 … 42, 126 and 253 degrees."""
_COLOURED = 0.06  # |z| from which a pixel has a hue to speak of
_CHROMA = 0.025  # and Oklab C: six steps of 8 bits; less is rounded to another hue
_NEAR = np.radians(5.0)
_ROUNDS = 4  # of an M-estimate

ZONES = ((0.25, 0.45), (0.45, 0.70), (0.70, 1.01))
_ZONE_PIXELS = 200


@dataclass(frozen=True)
class Tint:
    """What is added to z at some levels of lightness, and between them by straight lines."""

    levels: NDArray[Any]
    z: NDArray[Any]


@dataclass(frozen=True)
class OneWay:
    """The regression in one direction: the picture reached is white(c · start + tint)."""

    c: complex
    tint: Tint
    white: NDArray[Any]  # (3, 3) linear sRGB
    z_start: NDArray[Any]
    z_end: NDArray[Any]  # of the picture reached, with the white undone


class Turn(NamedTuple):
    """The turn of hue within a sector, degrees, and of how many places."""

    degrees: float
    places: int


@dataclass(frozen=True)
class Colour:
    """What changed in colour from A to B; see :mod:`driftline.drift.causes` for the units."""

    white: float
    duv: float
    chroma: float
    hue: float
    sectors: dict[str, Turn | None]
    split: complex | None
    mean_z: float
    forth: OneWay
    back: OneWay


def fit_colour(rgb_A: Planes, rgb_B: Planes, *, coloured: bool = True) -> Colour:
    """White, chroma, hue, hue by sector and split tint of B against A.

    Parameters
    ----------
    rgb_A, rgb_B
        (3, n) float64 linear sRGB of the same places, inside both gamuts and light enough (``DARKEST``).
    coloured
        False: both are so nearly grey that chroma and hue are taken to be the same; what differs is white.
    """
    lab_A, lab_B = to_oklab(rgb_A), to_oklab(rgb_B)
    weight = (lab_A[0] + lab_B[0]) / 2
    order = np.argsort(weight)
    weight, lab_A, lab_B, rgb_A, rgb_B = (a[..., order] for a in (weight, lab_A, lab_B, rgb_A, rgb_B))
    z_A, z_B, steps = relative_colour(lab_A), relative_colour(lab_B), steps_of(weight)
    forth = _one_way(z_A, z_B, rgb_B, steps, coloured)
    back = _one_way(z_B, z_A, rgb_A, steps, coloured)
    forth_mired, forth_duv = _white(forth.white)
    back_mired, back_duv = _white(back.white)
    c = np.sqrt(forth.c / back.c)
    c = c if (c * np.conj(forth.c)).real > 0 else -c
    return Colour(
        white=(forth_mired - back_mired) / 2,
        duv=1e3 * (forth_duv - back_duv) / 2,
        chroma=float(np.log2(abs(c))),
        hue=float(np.degrees(np.angle(c))),
        sectors=_sectors(forth, back, weight),
        split=_split(forth, back, complex(c), weight),
        mean_z=float(max(abs(z_A.mean()), abs(z_B.mean()))),
        forth=forth,
        back=back,
    )


def coloured(lab: Planes, way: OneWay, lightness: NDArray[Any]) -> Planes:
    """Linear sRGB of Oklab (3, n) with the chroma, hue, tint and white of the picture that ``way`` reaches.

    ``lightness`` is that of both pictures, averaged.
    """
    out = np.empty(lab.shape)
    recolour(lab, lightness, way.c, way.tint.levels, way.tint.z, out)
    return mixed(from_oklab(out), way.white)


def _one_way(z_A: NDArray[Any], z_B: NDArray[Any], rgb_B: Planes, steps: Steps, turning: bool) -> OneWay:
    undo, z, c = np.eye(3), z_B, 1 + 0j
    for _ in range(_WHITE_ROUNDS):
        line = robust_line(z_A, z, steps, c, turning=turning)
        undo, c = _undo_white(line.t) @ undo, line.c
        z = relative_colour(to_oklab(mixed(rgb_B, undo)))
        if abs(line.t) < _SETTLED:
            break
    line = robust_line(z_A, z, steps, c, turning=turning)
    tint = Tint(steps.levels, line.tint)
    return OneWay(c=line.c, tint=tint, white=np.linalg.inv(undo), z_start=z_A, z_end=z)


def _undo_white(t: complex) -> NDArray[Any]:
    lab = np.array([WHITE_AT, WHITE_AT * t.real, WHITE_AT * t.imag])
    XYZ = SRGB_TO_XYZ @ oklab_to_srgb(lab)
    return np.asarray(_XYZ_TO_SRGB @ adaptation_matrix(XYZ / XYZ[1], _D65) @ SRGB_TO_XYZ)


def _white(matrix: NDArray[Any]) -> tuple[float, float]:
    """Mired and Duv by which a matrix in linear sRGB moves D65."""
    kelvin, duv = xy_to_cct_duv(XYZ_to_xy(SRGB_TO_XYZ @ matrix @ np.ones(3)))
    kelvin_0, duv_0 = _d65()
    return 1e6 / kelvin - 1e6 / kelvin_0, duv - duv_0


@cache
def _d65() -> tuple[float, float]:
    return xy_to_cct_duv(D65_XY)


def _sectors(forth: OneWay, back: OneWay, L: NDArray[Any]) -> dict[str, Turn | None]:
    """Hue turn within each sector, of the places whose colour lies there in either picture.

    Both count alike, and a stronger edit does not lose the places it has muted or carried out of a sector.
    Leaves are not turned by a split tone that lies over them: the tint of their lightness is taken off.
    """
    end, start = (way.z_end - np.interp(L, way.tint.levels, way.tint.z) for way in (forth, back))
    each = (forth.z_start + start) / 2, (end + back.z_start) / 2
    pull = (end * forth.z_start.conj() + back.z_start * start.conj()) * L * L
    hues = [_hues(z, L) for z in each]
    turns: dict[str, Turn | None] = {}
    for key, (low, high) in SECTORS.items():
        inside = np.logical_or(*((hue >= low) & (hue < high) for hue in hues))
        turns[key] = Turn(_turn(pull[inside]), int(np.count_nonzero(inside))) if inside.any() else None
    return turns


def coloured_places(lab: Planes) -> dict[str, int]:
    """How many places of a picture, Oklab (3, n), have a colour of each sector."""
    hues = _hues(relative_colour(lab), lab[0])
    light = lab[0] > DARKEST
    return {key: int(np.count_nonzero(light & (hues >= a) & (hues < b))) for key, (a, b) in SECTORS.items()}


def _hues(z: NDArray[Any], L: NDArray[Any]) -> NDArray[np.float64]:
    """Hue in degrees, 0 to 360; nan where there is none to speak of."""
    size = np.sqrt(z.real**2 + z.imag**2)
    return np.where((size > _COLOURED) & (size * L > _CHROMA), np.degrees(np.angle(z)) % 360, np.nan)


def _turn(pull: NDArray[Any]) -> float:
    """The angle of most of some products, degrees: their mean, those far from it counting for less.

    An M-estimate (Huber 1964) begun at the middle one: no place is left out, else the turn would fall back
    as a stronger edit takes the colours that it turns most beyond a limit. Strong colours count for more
    than their strength: weak ones are rounded back to the hue they had.
    """
    strong, turned = pull * np.abs(pull), np.exp(1j * float(np.median(np.angle(pull))))
    limit = max(2 * float(np.median(np.abs(np.angle(pull * np.conj(turned))))), _NEAR)
    for _ in range(_ROUNDS):
        off = np.abs(np.angle(pull * np.conj(turned)))
        turned = np.vdot(1 / np.maximum(off / limit, 1.0), strong)
    return float(np.degrees(np.angle(turned)))


def _split(forth: OneWay, back: OneWay, c: complex, L: NDArray[Any]) -> complex | None:
    """Tint of the lightest zone less that of the darkest, 100 z; None without two zones to compare."""
    root = np.sqrt(c)
    left = (forth.z_end / root - root * forth.z_start) - (root * back.z_end - back.z_start / root)
    zones = [left[np.greater_equal(L, start) & np.less(L, end)] / 2 for start, end in ZONES]
    if sum(len(zone) >= _ZONE_PIXELS for zone in zones) < 2:
        return None
    return 100 * (_tint_of(zones[::-1]) - _tint_of(zones))


def _tint_of(zones: list[NDArray[Any]]) -> complex:
    """Tint of the first zone, and where that has too few places as much of the next as it lacks.

    A zone that an edit empties is given up little by little.
    """
    tint, lacking = 0j, 1.0
    for zone in zones:
        share = min(len(zone) / _ZONE_PIXELS, lacking)
        tint += share * _middle(zone) if share > 0 else 0j
        lacking -= share
    return tint


def _middle(z: NDArray[Any]) -> complex:
    """Where most of some colours lie: an M-estimate (Huber 1964) begun at their median.

    The median itself jumps from one to the other where a zone holds two kinds of things.
    """
    middle = complex(np.median(z.real), np.median(z.imag))
    off = np.abs(z - middle)
    limit = 2 * float(np.median(off)) + 1e-9
    for _ in range(_ROUNDS):
        weights = 1 / np.maximum(off / limit, 1.0)
        middle = complex(weights @ z / weights.sum())
        off = np.abs(z - middle)
    return middle
