"""An invented tram: hollow, with pillars, seats and lit ceiling, so that one can look through it."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from making.shapes import Pile

WIDTH, LENGTH = 2.3, 13.5
_FLOOR, _SILL, _LINTEL, _EAVES = 0.62, 1.42, 2.52, 2.86


def tram(pile: Pile, place: ArrayLike, degrees: float = 0.0, *, lit: bool, lower: str, upper: str) -> None:
    """A tram whose front is at local y = 0 and faces south; it reaches ``LENGTH`` north."""
    pile.at(place, degrees)
    half = WIDTH / 2
    for side in (-1, 1):
        _flank(pile, side * half, lower, upper)
    for y, out in ((0.0, -1.0), (LENGTH, 1.0)):
        _end(pile, y, out, lower, upper, lit=lit)
    pile.box("iron", (-half + 0.15, 0.6, 0.18), (half - 0.15, LENGTH - 0.6, _FLOOR))
    pile.box("floor_inside", (-half + 0.03, 0.1, _FLOOR), (half - 0.03, LENGTH - 0.1, _FLOOR + 0.03))
    _roof(pile, upper)
    _inside(pile, lit=lit)
    for centre in (2.2, 4.0, LENGTH - 4.0, LENGTH - 2.2):
        for rail in (-0.76, 0.70):
            _wheel(pile, rail, centre)
    pile.at((0, 0, 0))


def _flank(pile: Pile, x: float, lower: str, upper: str) -> None:
    inner, outer = sorted((x, x * 0.965))
    pile.box(lower, (inner, 0.25, 0.36), (outer, LENGTH - 0.25, _SILL))
    pile.box(upper, (inner, 0.25, _LINTEL), (outer, LENGTH - 0.25, _EAVES))
    stripe = sorted((x, x * 1.006))
    pile.box(upper, (stripe[0], 0.25, _SILL - 0.16), (stripe[1], LENGTH - 0.25, _SILL - 0.08))
    pillars = [
        0.25,
        1.35,
        2.55,
        *np.linspace(4.0, LENGTH - 4.0, 5),
        LENGTH - 2.65,
        LENGTH - 1.45,
        LENGTH - 0.37,
    ]
    for y in pillars:
        pile.box(upper, (inner, y, _SILL), (outer, y + 0.12, _LINTEL))
    for start in (1.35, LENGTH - 2.65):  # doors
        for y in (start + 0.12, start + 0.66):
            edge = sorted((x, x * 1.008))
            pile.box("iron", (edge[0], y, 0.45), (edge[1], y + 0.025, _LINTEL))


def _end(pile: Pile, y: float, out: float, lower: str, upper: str, *, lit: bool) -> None:
    """A rounded front: five panels from side to side, with windscreen openings."""
    half = WIDTH / 2
    x = np.array([-half, -half * 0.82, -half * 0.36, half * 0.36, half * 0.82, half])
    bow = np.array([-0.25, 0.02, 0.16, 0.16, 0.02, -0.25])
    line = y + out * bow
    bands = ((0.36, _SILL, lower), (_LINTEL, _EAVES, upper))
    for low, high, paint in bands:
        for a in range(5):
            corners = [(x[a], line[a], low), (x[a + 1], line[a + 1], low)]
            corners += [(x[a + 1], line[a + 1], high), (x[a], line[a], high)]
            pile.quads(paint, np.array([corners]))
    for a in range(6):
        pile.tube(upper, [(x[a], line[a], _SILL), (x[a], line[a], _LINTEL)], 0.045)
    pile.box("iron", (-half * 0.8, min(y, y + out * 0.22), 0.30), (half * 0.8, max(y, y + out * 0.22), 0.44))
    front = out < 0
    for side in (-0.62, 0.62):
        glow = ("headlight" if front else "taillight") if lit else "lens_dark"
        pile.ball("chrome", (side, y + out * 0.07, 0.86), (0.135, 0.06, 0.135), 18)
        pile.ball(glow, (side, y + out * 0.11, 0.86), (0.10, 0.05, 0.10), 18)
    board = sorted((y + out * 0.15, y + out * 0.20))
    pile.box("iron", (-0.55, board[0], _LINTEL + 0.05), (0.55, board[1], _LINTEL + 0.29))
    for k, wide in enumerate((0.16, 0.28, 0.12, 0.22)):  # bars where a destination would be
        start = -0.42 + 0.24 * k
        face = sorted((y + out * 0.19, y + out * 0.205))
        glow = "board_lit" if lit else "cream"
        pile.box(glow, (start, face[0], _LINTEL + 0.14), (start + wide * 0.7, face[1], _LINTEL + 0.20))


def _roof(pile: Pile, upper: str) -> None:
    angle = np.linspace(0, np.pi, 15)
    outline = np.stack((np.cos(angle) * WIDTH / 2 * 1.02, _EAVES + 0.34 * np.sin(angle) ** 0.8), axis=1)
    pile.extrude(upper, outline, 0.0, LENGTH)
    pile.box("grey_paint", (-0.55, 3.0, 3.12), (0.55, 6.0, 3.34))
    pile.box("grey_paint", (-0.45, 7.6, 3.12), (0.45, 9.6, 3.30))
    for y in (-0.55, 0.55):  # the collector
        pile.tube("iron", [(0, 6.8 + y, 3.2), (0, 6.8 + y * 0.2, 4.2), (0, 6.8 - y * 0.4, 5.05)], 0.025)
    pile.tube("iron", [(-0.7, 6.8, 5.08), (0.7, 6.8, 5.08)], 0.03)


def _inside(pile: Pile, *, lit: bool) -> None:
    half = WIDTH / 2
    pile.box("cream", (-half + 0.08, 0.3, _EAVES - 0.02), (half - 0.08, LENGTH - 0.3, _EAVES))
    if lit:
        for side in (-0.55, 0.55):
            pile.box(
                "tram_light", (side - 0.05, 0.9, _EAVES - 0.05), (side + 0.05, LENGTH - 0.9, _EAVES - 0.025)
            )
    for y in np.arange(3.0, LENGTH - 2.8, 0.92):
        for side in (-0.72, 0.72):
            pile.box("seat", (side - 0.34, y, _FLOOR), (side + 0.34, y + 0.42, 1.05))
            pile.box("seat", (side - 0.34, y + 0.36, 1.05), (side + 0.34, y + 0.44, 1.62))
    for y in np.arange(1.6, LENGTH - 1.0, 1.84):
        pile.tube("chrome", [(0.30, y, _FLOOR), (0.30, y, _EAVES)], 0.018)


def _wheel(pile: Pile, x: float, y: float) -> None:
    angle = np.linspace(0, 2 * np.pi, 21)
    ring = np.stack((np.zeros(21), 0.33 * np.cos(angle), 0.33 * np.sin(angle)), axis=1) + np.array(
        [x, y, 0.34]
    )
    for offset in (0.0, 0.09):
        moved = ring + np.array([offset, 0, 0])
        middle = np.broadcast_to(moved.mean(axis=0), moved[:-1].shape)
        pile.add("iron", np.stack((middle, moved[:-1], moved[1:]), axis=1))
    inner = ring + np.array([0.09, 0, 0])
    pile.quads("rail", np.stack((ring[:-1], ring[1:], inner[1:], inner[:-1]), axis=1))
