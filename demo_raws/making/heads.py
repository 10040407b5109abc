"""Heads about their own middle: no one's face, only a hint of one; hair and hats."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from making.lofts import Sections, bent, loft
from making.shapes import Pile

Array = NDArray[np.float64]
_SKULL: Sections = (  # height above the middle of the head
    (-0.170, 0.052, 0.055, 0.022),
    (-0.120, 0.048, 0.052, 0.014),
    (-0.108, 0.034, 0.050, -0.018),
    (-0.090, 0.047, 0.064, -0.018),
    (-0.055, 0.059, 0.078, -0.012),
    (-0.020, 0.068, 0.088, -0.005),
    (0.020, 0.073, 0.092, 0.002),
    (0.055, 0.073, 0.093, 0.006),
    (0.085, 0.064, 0.082, 0.010),
    (0.108, 0.044, 0.058, 0.012),
    (0.120, 0.018, 0.024, 0.012),
    (0.122, 0.001, 0.001, 0.012),
)


def head(pile: Pile, *, skin: str, colour: str, bob: bool) -> None:
    """A head about its own middle: skull, nose, ears, a hint of eyes, brows and mouth; hair."""
    z = np.linspace(_SKULL[0][0], _SKULL[-1][0], 60)
    angle = np.linspace(0, 2 * np.pi, 49)[None, :]
    wide, deep, shift = (part[:, None] for part in loft(_SKULL, z))
    grid = np.stack((wide * np.cos(angle), deep * np.sin(angle) + shift, z[:, None] + 0 * angle), axis=-1)
    pile.surface(skin, grid)
    pile.tube(skin, bent([(0, -0.086, 0.022), (0, -0.096, -0.004), (0, -0.106, -0.026)], 9),
              np.linspace(0.008, 0.0135, 9), 12)  # fmt: skip
    pile.ball(skin, (0, -0.101, -0.031), (0.0165, 0.015, 0.0105), 14)
    for side in (-1, 1):
        pile.ball(skin, (side * 0.0735, 0.010, -0.004), (0.008, 0.019, 0.031), 14)
        pile.ball("eye", (side * 0.030, -0.0765, 0.006), (0.0125, 0.0085, 0.0065), 14)
        brow = [(side * 0.014, -0.090, 0.024), (side * 0.034, -0.086, 0.029), (side * 0.051, -0.071, 0.022)]
        pile.tube(colour, bent(brow, 7), 0.0042, 8)
    pile.tube(
        "lip",
        bent([(-0.021, -0.0795, -0.060), (0, -0.0895, -0.0585), (0.021, -0.0795, -0.060)], 9),
        0.0042,
        8,
    )
    _hair(pile, colour, bob=bob)


def _hair(pile: Pile, colour: str, *, bob: bool) -> None:
    """A shell over the skull that ends at the brow, above the ears, and in the neck (or below, if long)."""
    angle = np.linspace(0, 2 * np.pi, 73)[None, :]
    back, front = np.clip(np.sin(angle), 0, 1), np.clip(-np.sin(angle), 0, 1)
    sides = -0.085 if bob else -0.012
    lower = sides + 0.078 * front**1.2 - (0.070 if bob else 0.075) * back**0.8
    if bob:
        lower = np.where(front > 0.35, 0.040 + 0.03 * front, lower)
    share = np.linspace(0, 1, 33)[:, None]
    z = 0.1215 + (lower - 0.1215) * share**1.4
    wide, deep, shift = loft(_SKULL, z)
    if bob:
        wide, deep = np.maximum(wide, 0.070 * (z < 0.05)), np.maximum(deep, 0.080 * (z < 0.05))
    thick = 0.012 * np.clip(4 * (1 - share), 0.25, 1) + 0.0016 * np.sin(23 * angle + 9 * z / 0.1)
    grid = np.stack(
        ((wide + thick) * np.cos(angle), (deep + thick) * np.sin(angle) + shift, z + thick * (1 - share)), -1
    )
    pile.surface(colour, grid[::-1])


def hat(pile: Pile, cloth: str) -> None:
    """A brim that dips before and behind, a band, a dented crown."""
    angle = np.linspace(0, 2 * np.pi, 73)[None, :]
    rows = np.array([
        (0.070, 0.046), (0.138, 0.044), (0.1435, 0.048), (0.138, 0.052), (0.092, 0.056), (0.088, 0.064),
        (0.085, 0.110), (0.080, 0.140), (0.070, 0.153), (0.050, 0.150), (0.022, 0.138), (0.001, 0.136),
    ])  # fmt: skip
    r, z = rows[:, :1], rows[:, 1:]
    out = np.clip((r - 0.09) / 0.05, 0, 1) * (z < 0.06)
    dip = out * (0.020 * np.cos(angle) ** 2 - 0.012)
    pinch = 1 - 0.10 * np.clip((z - 0.09) / 0.06, 0, 1) * np.clip(-np.sin(angle), 0, 1) ** 3
    ring = np.stack((r * np.cos(angle) * pinch, 1.20 * r * np.sin(angle) + 0.006, z + dip), axis=-1)
    pile.surface(cloth, ring)
    band = np.stack(
        (0.0895 * np.cos(angle) + 0 * z[:2], 1.20 * 0.0895 * np.sin(angle) + 0.006 + 0 * z[:2],
         np.array([[0.060], [0.088]]) + 0 * angle), axis=-1,
    )  # fmt: skip
    pile.surface("trim", band)
