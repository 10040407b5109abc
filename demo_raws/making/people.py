"""Figures in coats, simple enough to be no one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from making.shapes import Pile


@dataclass(frozen=True)
class Person:
    """Where someone stands (x, y), which way they face (0 is south, 90 east), and what they wear."""

    x: float
    y: float
    facing: float = 0.0
    coat: str = "coat_navy"
    skin: str = "skin_light"
    height: float = 1.72
    stride: float = 0.0
    hat: str | None = None
    hair: str = "hair_dark"
    scarf: str | None = None
    umbrella: str | None = None
    bag: str | None = None
    z: float = 0.0
    lean: float = 0.0


def stand(pile: Pile, who: Person) -> None:
    """Put a figure into the pile."""
    s = who.height / 1.72
    pile.at((who.x, who.y, who.z), who.facing)
    _legs(pile, who, s)
    _coat(pile, who, s)
    _arms(pile, who, s)
    _head(pile, who, s)
    if who.umbrella:
        _umbrella(pile, who.umbrella, s)
    if who.bag:
        pile.box(who.bag, (0.33 * s, -0.17, 0.42 * s), (0.44 * s, 0.17, 0.72 * s))
        pile.tube(
            who.bag, [(0.385 * s, -0.1, 0.72 * s), (0.37 * s, 0, 0.82 * s), (0.385 * s, 0.1, 0.72 * s)], 0.012
        )
    pile.at((0, 0, 0))


def _legs(pile: Pile, who: Person, s: float) -> None:
    for side, step in ((-1, who.stride), (1, -who.stride)):
        foot = (side * 0.09 * s, -step * s, 0.07 * s)
        knee = (side * 0.095 * s, -step * 0.55 * s - 0.03, 0.48 * s)
        pile.tube(
            "trousers", [(side * 0.09 * s, 0, 0.88 * s), knee, foot], [0.085 * s, 0.065 * s, 0.05 * s], 12
        )
        pile.ball("shoe", (foot[0], foot[1] - 0.06 * s, 0.045 * s), (0.05 * s, 0.135 * s, 0.05 * s))


def _coat(pile: Pile, who: Person, s: float) -> None:
    flare = 0.03 if who.stride else 0.0
    outline = [
        (0.245 + flare, 0.50), (0.255 + flare, 0.52), (0.235, 0.75), (0.205, 0.98), (0.200, 1.06),
        (0.215, 1.20), (0.222, 1.30), (0.205, 1.365), (0.165, 1.415), (0.115, 1.455), (0.08, 1.49),
        (0.07, 1.50),
    ]  # fmt: skip
    shape = [(r * s, z * s) for r, z in outline]
    pile.lathe(who.coat, shape, flatten=0.66, sides=28, lean=(0, -who.lean))
    pile.lathe(who.coat, [(0.09 * s, 1.44 * s), (0.105 * s, 1.50 * s), (0.095 * s, 1.545 * s)], flatten=0.9)
    pile.box("trim", (-0.012, -0.158 * s, 0.60 * s), (0.004, -0.128 * s, 1.30 * s))
    for z in (0.80, 0.95, 1.10, 1.25):
        pile.ball("trim", (0.03 * s, -0.150 * s, z * s), (0.014, 0.012, 0.014), 8)


def _arms(pile: Pile, who: Person, s: float) -> None:
    for side in (-1, 1):
        shoulder = (side * 0.178 * s, 0, 1.355 * s)
        if who.umbrella and side == 1:
            elbow, hand = (0.27 * s, -0.10 * s, 1.12 * s), (0.16 * s, -0.26 * s, 1.22 * s)
        else:
            swing = side * who.stride * 0.5
            elbow = (side * 0.252 * s, swing * 0.4 + 0.04, 1.09 * s)
            hand = (side * 0.262 * s, swing - 0.07, 0.84 * s)
        pile.tube(who.coat, _bent(shoulder, elbow, hand), np.linspace(0.076, 0.054, 9) * s, 14)
        pile.ball(who.coat, shoulder, np.array([0.082, 0.080, 0.075]) * s)
        pile.ball(who.skin, (hand[0], hand[1] - 0.01, hand[2] - 0.05 * s), (0.035 * s, 0.045 * s, 0.06 * s))


def _bent(start: ArrayLike, middle: ArrayLike, end: ArrayLike) -> NDArray[np.float64]:
    """Nine points along a soft bend through three."""
    a, b, c = (np.asarray(point, dtype=float) for point in (start, middle, end))
    t = np.linspace(0, 1, 9)[:, None]
    through = 2 * b - 0.5 * (a + c)
    return np.asarray((1 - t) ** 2 * a + 2 * t * (1 - t) * through + t**2 * c)


def _head(pile: Pile, who: Person, s: float) -> None:
    top = np.array([0, -0.02 * s - who.lean * 1.5 * s, 1.635 * s])
    pile.lathe(who.skin, [(0.055 * s, -0.17 * s), (0.052 * s, -0.06 * s)], at=top)
    pile.ball(who.skin, top, (0.076 * s, 0.092 * s, 0.118 * s), 24)
    pile.ball(who.skin, top + np.array([0, -0.095, -0.012]) * s, (0.014 * s, 0.020 * s, 0.024 * s), 10)
    pile.ball(who.hair, top + np.array([0, 0.022, 0.026]) * s, (0.083 * s, 0.090 * s, 0.108 * s), 24)
    if who.hat:
        brim = [
            (0.001, 0.062),
            (0.135, 0.050),
            (0.140, 0.056),
            (0.095, 0.068),
            (0.088, 0.12),
            (0.080, 0.155),
            (0.001, 0.162),
        ]
        pile.lathe(who.hat, [(r * s, z * s) for r, z in brim], at=top, sides=28)
    if who.scarf:
        ring = [(0.060, -0.155), (0.098, -0.15), (0.108, -0.115), (0.096, -0.085), (0.062, -0.08)]
        pile.lathe(who.scarf, [(r * s, z * s) for r, z in ring], at=top, sides=20)
        pile.box(who.scarf, (0.02, -0.165 * s, 1.18 * s), (0.09 * s, -0.125 * s, 1.48 * s))


def _umbrella(pile: Pile, cloth: str, s: float) -> None:
    grip = np.array([0.16, -0.26, 1.18]) * s
    peak = grip + np.array([-0.05, 0.05, 0.92]) * s
    pile.tube("iron", [grip - np.array([0, 0, 0.06]), peak], 0.010)
    pile.tube("iron", [peak, peak + np.array([0, 0, 0.07])], 0.006)
    rows = np.linspace(0.02, 1.0, 9)[:, None]
    angle = np.linspace(0, 2 * np.pi, 65)[None, :]
    scallop = 1 - 0.06 * rows * np.abs(np.sin(4 * angle))
    radius = 0.58 * s * np.sin(rows * 1.25) / np.sin(1.25) * scallop
    height = 0.30 * s * (np.cos(rows * 1.25) - 1) - 0.02 * rows * np.abs(np.sin(4 * angle))
    grid = np.stack((radius * np.cos(angle), radius * np.sin(angle), height + 0 * angle), axis=-1)
    pile.surface(cloth, grid + peak)
