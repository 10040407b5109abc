"""Figures in coats, simple enough to be no one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from making import coats, heads
from making.lofts import bent
from making.shapes import Pile

Array = NDArray[np.float64]


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
    bob: bool = False
    scarf: str | None = None
    umbrella: str | None = None
    bag: str | None = None
    z: float = 0.0
    turn: float = 0.0  # of the head, in degrees, to their left


def stand(pile: Pile, who: Person) -> None:
    """Put a figure into the pile."""
    local = Pile()
    _legs(local, who)
    coats.coat(local, who.coat, phase=10 * (who.x + who.y), stride=who.stride)
    _arms(local, who)
    if who.umbrella:
        _umbrella(local, who.umbrella)
    if who.bag:
        _bag(local, who.bag)
    head = Pile()
    heads.head(head, skin=who.skin, colour=who.hair, bob=who.bob)
    if who.hat:
        heads.hat(head, who.hat)
    if who.scarf:
        coats.scarf(head, who.scarf)
    local.put(head, (0, -0.018, 1.615), who.turn)
    pile.put(local, (who.x, who.y, who.z), who.facing, scale=who.height / 1.72)


def _legs(pile: Pile, who: Person) -> None:
    for side, step in ((-1, who.stride), (1, -who.stride)):
        lift = 0.05 * max(0.0, -step / 0.2)
        foot = np.array([side * 0.088, -step, 0.075 + lift])
        bend = -0.02 - 0.25 * max(0.0, -step)
        path = bent([(side * 0.085, 0, 0.86), (side * 0.09, -step * 0.5 + bend, 0.47), foot])
        thick = np.interp(np.linspace(0, 1, len(path)), [0, 0.45, 0.9, 1], [0.090, 0.069, 0.062, 0.064])
        thick = thick + 0.003 * np.sin(np.linspace(0, 34, len(path))) * np.linspace(0, 1, len(path)) ** 3
        pile.tube("trousers", path, thick, 18)
        toe = foot - np.array([0, 0.055, 0.030])
        pile.ball("shoe", foot + np.array([0, 0.015, -0.035]), (0.041, 0.060, 0.045), 18)
        pile.ball("shoe", toe - np.array([0, 0.03, 0.008]), (0.045, 0.115, 0.036), 18)


def _arms(pile: Pile, who: Person) -> None:
    """Sleeves that hang from the shoulder, creased at the elbow; cuffs, hands."""
    for side in (-1, 1):
        start, shoulder = (side * 0.105, 0.006, 1.362), (side * 0.186, 0.004, 1.318)
        if who.umbrella and side == 1:
            elbow, wrist = (0.262, -0.045, 1.085), (0.185, -0.225, 1.165)
        else:
            swing = side * who.stride * 0.6
            hold = 0.022 if who.bag and side == 1 else 0.0
            elbow = (side * (0.236 + hold / 2), swing * 0.45 + 0.018, 1.085)
            wrist = (side * (0.243 + hold), swing - 0.035, 0.868)
        path = bent([start, shoulder, elbow, wrist], 33)
        t = np.linspace(0, 1, len(path))
        thick = np.interp(t, [0, 0.14, 0.3, 0.62, 1], [0.060, 0.0655, 0.061, 0.0545, 0.0500])
        crease = 0.0028 * np.sin(t * 60) * np.exp(-(((t - 0.60) / 0.11) ** 2)) + 0.0016 * np.sin(t * 37)
        pile.tube(who.coat, path, thick + crease, 22)
        along = path[-1] - path[-3]
        along /= np.linalg.norm(along)
        pile.tube(who.coat, [path[-1] - along * 0.055, path[-1] + along * 0.004], [0.0535, 0.0545], 22)
        pile.tube("trim", [path[-1] + along * 0.001, path[-1] + along * 0.003], [0.052, 0.001], 22)
        _hand(pile, who.skin, path[-1] + along * 0.008, along, side)


def _hand(pile: Pile, skin: str, wrist: Array, along: Array, side: int) -> None:
    """A palm, four fingers a little bent, and a thumb before them."""
    forward = np.array([0.0, -1.0, 0.0])
    pile.tube(skin, [wrist - along * 0.03, wrist + along * 0.03], [0.027, 0.029], 14)
    pile.ball(skin, wrist + along * 0.050, (0.021, 0.040, 0.046), 16)
    for k in range(4):
        root = wrist + along * 0.078 + forward * (0.026 - 0.0175 * k)
        long = (0.066, 0.074, 0.070, 0.056)[k]
        curl = np.array([-side * 0.018, -0.004, 0.0])
        pile.tube(skin, bent([root, root + along * long * 0.55, root + along * long + curl], 7), 0.0088, 8)
        pile.ball(skin, root + along * long + curl, 0.0088, 8)
    thumb = wrist + along * 0.030 + forward * 0.030
    pile.tube(
        skin,
        bent([thumb, thumb + along * 0.03 + forward * 0.018, thumb + along * 0.065 + forward * 0.020], 7),
        0.0105,
        8,
    )


def _bag(pile: Pile, leather: str) -> None:
    """A bag with a flap and a handle, in the left hand."""
    x, z = 0.266, 0.745
    pile.box(leather, (x - 0.052, -0.205, z - 0.315), (x + 0.052, 0.135, z - 0.055))
    pile.box(leather, (x - 0.058, -0.210, z - 0.150), (x + 0.058, 0.140, z - 0.050))
    for y in (-0.12, 0.05):
        pile.box("chrome", (x + 0.058, y - 0.012, z - 0.165), (x + 0.062, y + 0.012, z - 0.135))
    handle = [(-0.115, -0.05), (-0.085, 0.012), (-0.035, 0.028), (0.015, 0.012), (0.045, -0.05)]
    pile.tube(leather, bent([(x, y, z + rise) for y, rise in handle]), 0.0095, 10)


def _umbrella(pile: Pile, cloth: str) -> None:
    grip = np.array([0.170, -0.275, 1.20])
    peak = grip + np.array([-0.05, 0.05, 0.90])
    pile.tube("iron", [grip - np.array([0, 0, 0.10]), peak], 0.010)
    pile.tube("iron", [peak, peak + np.array([0, 0, 0.07])], 0.006)
    rows = np.linspace(0.02, 1.0, 13)[:, None]
    angle = np.linspace(0, 2 * np.pi, 97)[None, :]
    between = np.abs(np.sin(4 * angle))
    radius = 0.58 * np.sin(rows * 1.25) / np.sin(1.25) * (1 - 0.07 * rows * between)
    height = 0.30 * (np.cos(rows * 1.25) - 1) - 0.025 * np.sin(np.pi * rows) * between
    grid = np.stack((radius * np.cos(angle), radius * np.sin(angle), height + 0 * angle), axis=-1)
    pile.surface(cloth, grid + peak)
    for k in range(8):
        turn = k * np.pi / 4
        way = np.array([np.cos(turn), np.sin(turn), 0.0])
        rib = [
            peak + r * way + np.array([0, 0, h - 0.012])
            for r, h in zip(radius[:, 0], height[:, 0], strict=True)
        ]
        pile.tube("iron", rib, 0.0035, 6)
