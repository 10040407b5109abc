"""The invented terminus: square, rails, market hall (west), houses (east), trees, lamps."""

from __future__ import annotations

import numpy as np

from making.houses import clock_tower, house
from making.shapes import Pile
from making.tram import tram

MARKET_X = -9.0  # the arcade's front
BAY = 4.4
BAYS = 10
HOUSES_X = 12.0


def build(
    pile: Pile,
    *,
    night: bool,
    seed: int = 11,
    tram_y: float = 13.0,
    market_tree: tuple[float, float] = (-6.4, 46.0),
) -> None:
    """Everything that does not move, and one tram."""
    lit = 0.34 if night else 0.0
    _ground(pile)
    _market(pile, night=night)
    _east_row(pile, seed, lit)
    _north_row(pile, seed + 50, lit)
    clock_tower(pile, (-15.0, 60.0, 0.0), lit=night)
    tram(pile, (2.3, tram_y, 0.0), lit=night, lower="paint_teal", upper="cream")
    _stop(pile, night=night)
    for y in (-8.0, 4.0, 16.0, 28.0, 40.0, 52.0):
        street_lamp(pile, 7.6, y + 1.5, night=night)
        street_lamp(pile, -6.9, y, night=night)
    _wires(pile)
    for k, (x, y) in enumerate(((8.3, 22.0), (8.4, 33.5), market_tree, (8.3, 45.0))):
        tree(pile, x, y, seed=seed + k)
    _clutter(pile)


def _ground(pile: Pile) -> None:
    pile.box("asphalt", (-160, -120, -0.2), (160, 200, -0.004))
    pile.quads("setts", np.array([[(-6.2, -60, 0), (6.6, -60, 0), (6.6, 62, 0), (-6.2, 62, 0)]], dtype=float))
    pile.box("flags", (6.6, -60, -0.1), (HOUSES_X + 1, 64, 0.13))
    pile.box("flags", (MARKET_X - 22, -4, -0.1), (-6.2, 62, 0.13))
    pile.box("kerb", (6.45, -60, -0.1), (6.6, 64, 0.14))
    pile.box("kerb", (-6.2, -4, -0.1), (-6.05, 62, 0.14))
    for centre in (-2.0, 2.3):
        for side in (-0.72, 0.72):
            x = centre + side
            pile.box("rail", (x - 0.035, -60, -0.05), (x + 0.035, 62, 0.008))
            pile.box("groove", (x + 0.035, -60, -0.05), (x + 0.085, 62, 0.003))


def _market(pile: Pile, *, night: bool) -> None:
    """The hall: a double row of arches towards the square, a glazed ridge, iron columns within."""
    length = BAY * BAYS
    for depth in (0.0, 4.0):
        pile.at((MARKET_X - depth, 0, 0), 90)
        for k in range(BAYS):
            left = k * BAY
            pile.arch(
                "brick",
                left + 0.55,
                left + BAY - 0.55,
                springing=3.3,
                top=6.2,
                depth=(0.0, 0.6),
                reveal="stone",
            )
            for x in (left, left + BAY - 0.55):
                pile.box("brick", (x, 0, 0.13), (x + 0.55, 0.6, 6.2))
            for x in (left - 0.06, left + BAY - 0.61):
                pile.box("stone", (x + 0.0, -0.06, 3.18), (x + 0.67, 0.66, 3.34))
                pile.box("stone", (x + 0.0, -0.06, 0.13), (x + 0.67, 0.66, 0.62))
        pile.box("stone", (-0.1, -0.14, 6.2), (length + 0.1, 0.7, 6.5))
        pile.at((0, 0, 0))
    west = MARKET_X - 22.0
    pile.box("brick", (west - 0.4, 0, 0), (west, length, 6.5))
    pile.box("brick", (west, length, 0), (MARKET_X - 4, length + 0.4, 6.5))
    ridge, eaves = 10.5, 6.5
    middle = (west + MARKET_X) / 2
    for x, far in ((MARKET_X, middle + 2.0), (west, middle - 2.0)):
        high = eaves + (ridge - eaves) * abs(far - x) / abs(middle - x)
        slope = [(x, -0.3, eaves), (x, length + 0.3, eaves), (far, length + 0.3, high), (far, -0.3, high)]
        pile.quads("slate", np.array([slope], dtype=float))
    for y in np.arange(0.0, length + 0.1, BAY):
        for x in (MARKET_X - 8.5, MARKET_X - 13.5, MARKET_X - 18.0):
            profile = [(0.16, 0), (0.16, 0.3), (0.09, 0.4), (0.08, 4.4), (0.16, 4.6), (0.16, 4.7)]
            pile.lathe("iron", profile, at=(x, y, 0.13), sides=14)
        pile.tube("iron", [(west, y, 5.4), (middle, y, 6.2), (MARKET_X - 0.6, y, 5.4)], 0.05)
        pile.tube("iron", [(west, y, 6.4), (middle, y, ridge), (MARKET_X - 0.6, y, 6.4)], 0.06)
    if night:
        for y in np.arange(BAY / 2, length, BAY):
            pile.tube("iron", [(MARKET_X - 2.3, y, 6.2), (MARKET_X - 2.3, y, 3.9)], 0.012)
            pile.ball("lamp_market", (MARKET_X - 2.3, y, 3.75), 0.13)


def _east_row(pile: Pile, seed: int, lit: float) -> None:
    generator = np.random.default_rng(seed)
    walls = ["plaster_ochre", "plaster_pale", "plaster_rose", "brick", "plaster_grey", "plaster_cream"]
    awnings = [None, "cloth_red", None, "cloth_blue", "cloth_green", None]
    y, k = 70.0, 0
    while y > -46:
        wide = float(generator.choice([6.4, 7.2, 8.0]))
        house(
            pile,
            (HOUSES_X + generator.uniform(-0.05, 0.05), y, 0.13),
            -90,
            width=wide,
            floors=int(generator.choice([2, 3, 3, 4])),
            wall=walls[k % len(walls)],
            seed=seed + 100 + k,
            lit=lit,
            awning=awnings[(k + 1) % len(awnings)],
        )
        y -= wide
        k += 1


def _north_row(pile: Pile, seed: int, lit: float) -> None:
    generator = np.random.default_rng(seed)
    walls = ["plaster_grey", "plaster_rose", "plaster_cream", "brick", "plaster_ochre"]
    x = -34.0
    for k in range(8):
        wide = float(generator.choice([6.4, 7.2]))
        if not -19 < x + wide / 2 < -11:
            floors = int(generator.choice([2, 3, 4]))
            house(
                pile, (x, 64.0, 0.0), 0, width=wide, floors=floors, wall=walls[k % 5], seed=seed + k, lit=lit
            )
        x += wide


def _stop(pile: Pile, *, night: bool) -> None:
    """The stop's roof on the east pavement, with a bench."""
    for y in (6.0, 9.5, 13.0, 16.5):
        pile.lathe(
            "iron",
            [(0.12, 0), (0.12, 0.25), (0.06, 0.35), (0.055, 2.7), (0.10, 2.85)],
            at=(8.5, y, 0.13),
            sides=14,
        )
        pile.tube("iron", [(8.5, y, 2.2), (8.1, y, 2.75), (7.2, y, 3.05)], 0.03)
    roof = np.array([(9.2, 3.25), (9.2, 3.37), (7.0, 3.16), (7.0, 3.04)])
    pile.extrude("iron", roof, 5.2, 17.3)
    pile.box("iron", (6.96, 5.2, 2.92), (7.0, 17.3, 3.16))
    strip = "lamp_cold" if night else "cream"
    for y in (6.2, 9.0, 11.8, 14.6):
        pile.box(strip, (7.95, y, 3.00), (8.07, y + 1.6, 3.04))
    for y in (7.2, 11.0, 14.2):
        for z, x in ((0.55, 8.7), (0.55, 8.85), (0.55, 9.0), (0.78, 9.14), (0.92, 9.16)):
            pile.box("wood", (x - 0.06, y, z), (x + 0.04, y + 1.8, z + 0.05))
        for side in (y + 0.2, y + 1.6):
            pile.box("iron", (8.62, side, 0.13), (9.1, side + 0.05, 0.55))
            pile.box("iron", (9.08, side, 0.55), (9.14, side + 0.05, 0.98))


def street_lamp(pile: Pile, x: float, y: float, *, night: bool) -> None:
    """An iron post with a globe."""
    profile = [
        (0.17, 0),
        (0.17, 0.35),
        (0.10, 0.5),
        (0.07, 0.9),
        (0.05, 3.9),
        (0.10, 4.0),
        (0.05, 4.1),
        (0.09, 4.28),
    ]
    pile.lathe("iron", profile, at=(x, y, 0.1), sides=14)
    pile.ball("lamp_warm" if night else "globe", (x, y, 4.60), 0.21, 20)
    pile.lathe("iron", [(0.10, 0), (0.12, 0.02), (0.02, 0.12), (0.001, 0.2)], at=(x, y, 4.78), sides=14)


def _wires(pile: Pile) -> None:
    along = np.linspace(-60, 62, 41)
    sag = 5.15 + 0.10 * np.cos(along / 12.0 * 2 * np.pi)
    for track in (-2.0, 2.3):
        pile.tube("wire", np.stack((np.full_like(along, track), along, sag), axis=1), 0.012, 5)
    across = np.linspace(-6.9, 7.7, 15)
    for y in range(-8, 64, 12):
        pile.tube(
            "wire",
            np.stack((across, np.full_like(across, y), 5.3 + 0.012 * (across - 0.4) ** 2), axis=1),
            0.010,
            5,
        )
        for side in (-7.0, 7.8):
            pile.tube("iron", [(side, y, 0.1), (side, y, 6.4)], [0.10, 0.06], 12)


def tree(pile: Pile, x: float, y: float, *, seed: int, size: float = 1.0) -> None:
    """A street tree: trunk, limbs, a crown of several clouds of leaves."""
    generator = np.random.default_rng(seed)
    pile.tube("bark", [(x, y, 0), (x + 0.1, y, 1.8 * size), (x, y + 0.1, 3.4 * size)], [0.20, 0.15, 0.12], 12)
    for k in range(9):
        turn, rise = 2 * np.pi * k / 9 + generator.uniform(0, 0.5), generator.uniform(0.6, 2.8)
        reach = generator.uniform(0.8, 1.9) * size
        end = np.array([x + reach * np.cos(turn), y + reach * np.sin(turn), (3.6 + rise) * size])
        start = np.array([x, y, 3.0 * size])
        bend = (start + end) / 2 + [0, 0, 0.25]
        pile.tube("bark", [start, bend, end], [0.09, 0.06, 0.025], 8)
        radii = np.array([1.15, 1.15, 0.8]) * generator.uniform(0.8, 1.15) * size
        kind = "leaf" if k % 3 else "leaf_light"
        pile.leaves(kind, end, radii, 2600, 0.075, seed=seed * 100 + k)
    pile.lathe("iron", [(0.75, 0), (0.75, 0.02), (0.2, 0.02)], at=(x, y, 0.125), sides=24)


def _clutter(pile: Pile) -> None:
    """Bollards along the kerbs, and a litter bin."""
    for y in np.arange(-3.0, 60.0, 3.0):
        profile = [(0.09, 0), (0.075, 0.7), (0.09, 0.74), (0.085, 0.84), (0.001, 0.90)]
        pile.lathe("iron", profile, at=(-6.45, y, 0.1), sides=12)
    pile.lathe(
        "paint_teal", [(0.22, 0), (0.24, 0.8), (0.25, 0.85), (0.20, 0.86)], at=(9.0, 18.6, 0.13), sides=20
    )
