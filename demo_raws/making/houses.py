"""House fronts with recessed windows, a shop with its display, and a clock tower."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from making.shapes import Pile

_RECESS = 0.20


def house(
    pile: Pile,
    place: ArrayLike,
    degrees: float,
    *,
    width: float,
    floors: int,
    wall: str,
    seed: int,
    lit: float = 0.0,
    shop: bool = True,
    awning: str | None = None,
) -> None:
    """A house whose front lies on local y = 0 and faces -y; a share ``lit`` of its windows is lit."""
    generator = np.random.default_rng(seed)
    pile.at(place, degrees)
    ground, storey = 3.9, 3.2
    top = ground + floors * storey
    pile.box(wall, (0, _RECESS + 0.08, 0), (width, 9, top))
    columns = max(2, round(width / 2.3))
    _ground_floor(pile, width, ground, wall, shop=shop, lit=generator.random() < lit, columns=columns)
    for floor in range(floors):
        _storey(pile, generator, width, ground + floor * storey, storey, wall, columns, lit)
    pile.box("stone", (-0.02, -0.22, top - 0.32), (width + 0.02, _RECESS, top))
    pile.box("stone", (-0.02, -0.30, top), (width + 0.02, _RECESS, top + 0.12))
    _roof(pile, generator, width, top + 0.12)
    if awning:
        _awning(pile, 0.5, width - 0.5, ground - 0.75, awning)
    pile.at((0, 0, 0))


def _ground_floor(
    pile: Pile, width: float, ground: float, wall: str, *, shop: bool, lit: bool, columns: int
) -> None:
    pane = "pane_shop" if lit and shop else "pane"
    count = max(2, columns - 1) if shop else columns
    pier = 0.55 if shop else 1.1
    pitch = (width - pier) / count
    base = 0.55 if shop else 1.0
    pile.box("plinth", (0, 0, 0), (width, _RECESS + 0.1, base))
    pile.box(wall, (0, 0, ground - 0.85), (width, _RECESS + 0.1, ground))
    pile.box("stone", (0, -0.10, ground - 0.16), (width, 0, ground))
    for k in range(count + 1):
        pile.box(
            "plinth" if shop else wall, (k * pitch, 0, base), (k * pitch + pier, _RECESS + 0.1, ground - 0.85)
        )
    pile.box(pane, (0, _RECESS, base), (width, _RECESS + 0.05, ground - 0.85))
    for k in range(count):
        middle = k * pitch + pier + (pitch - pier) / 2
        pile.box("frame", (middle - 0.03, _RECESS - 0.06, base), (middle + 0.03, _RECESS, ground - 0.85))
        pile.box("frame", (k * pitch + pier, _RECESS - 0.06, 2.35), (k * pitch + pitch, _RECESS, 2.43))


def _storey(
    pile: Pile,
    generator: np.random.Generator,
    width: float,
    low: float,
    storey: float,
    wall: str,
    columns: int,
    lit: float,
) -> None:
    wide, sill, head = 1.05, low + 0.75, low + storey - 0.45
    pile.box(wall, (0, 0, low), (width, _RECESS + 0.1, sill))
    pile.box(wall, (0, 0, head), (width, _RECESS + 0.1, low + storey))
    pitch = width / columns
    edges = [0.0]
    for k in range(columns):
        left = (k + 0.5) * pitch - wide / 2
        edges += [left, left + wide]
        light = generator.random() < lit
        pile.box("pane_lit" if light else "pane", (left, _RECESS, sill), (left + wide, _RECESS + 0.05, head))
        for x in (left, left + wide / 2 - 0.03, left + wide - 0.06):
            pile.box("frame", (x, _RECESS - 0.07, sill), (x + 0.06, _RECESS, head))
        for z in (sill, sill + (head - sill) * 0.66, head - 0.06):
            pile.box("frame", (left, _RECESS - 0.07, z), (left + wide, _RECESS, z + 0.06))
        pile.box("stone", (left - 0.1, -0.13, sill - 0.1), (left + wide + 0.1, _RECESS, sill))
        pile.box("stone", (left - 0.08, -0.05, head), (left + wide + 0.08, 0.02, head + 0.18))
        if generator.random() < 0.45:
            colour = ("shutter_green", "shutter_grey")[int(generator.random() < 0.4)]
            for x in (left - 0.55, left + wide + 0.02):
                pile.box(colour, (x, -0.06, sill), (x + 0.53, -0.005, head))
    edges.append(width)
    for a, b in zip(edges[::2], edges[1::2], strict=True):
        pile.box(wall, (a, 0, sill), (b, _RECESS + 0.1, head))


def _roof(pile: Pile, generator: np.random.Generator, width: float, z: float) -> None:
    corners = np.array(
        [[(-0.1, -0.35, z), (width + 0.1, -0.35, z), (width + 0.1, 3.6, z + 2.6), (-0.1, 3.6, z + 2.6)]]
    )
    pile.quads("slate", corners)
    for x in generator.uniform(0.8, width - 1.4, 2):
        pile.box("brick", (x, 2.2, z + 0.6), (x + 0.6, 2.9, z + 3.2))
        pile.lathe("terracotta", [(0.12, 0), (0.10, 0.45)], at=(x + 0.3, 2.55, z + 3.2), sides=10)


def _awning(pile: Pile, left: float, right: float, z: float, cloth: str) -> None:
    """A striped awning: panels of cloth and white, with a hanging edge."""
    panels = max(4, round((right - left) / 0.32))
    x = np.linspace(left, right, panels + 1)
    for k in range(panels):
        paint = cloth if k % 2 == 0 else "cloth_white"
        a, b = x[k], x[k + 1]
        slope = [(a, -1.35, z - 0.62), (b, -1.35, z - 0.62), (b, -0.02, z), (a, -0.02, z)]
        drop = [(a, -1.36, z - 0.86), (b, -1.36, z - 0.86), (b, -1.35, z - 0.62), (a, -1.35, z - 0.62)]
        pile.quads(paint, np.array([slope, drop]))
    for side in (left, right):
        pile.tube("iron", [(side, -1.34, z - 0.62), (side, 0, z - 0.62)], 0.015)


def shop(pile: Pile, place: ArrayLike, degrees: float, seed: int) -> None:
    """A lit shop window: a wooden front, a deep display with pots, loaves, hats, and three bare bulbs."""
    generator = np.random.default_rng(seed)
    pile.at(place, degrees)
    wide, low, high, deep = 3.6, 0.62, 2.62, 1.5
    for x in (-0.35, wide + 0.05):
        pile.box("shopfront", (x, -0.14, 0), (x + 0.30, 0.22, 3.15))
        pile.box("shopfront", (x - 0.04, -0.18, 0), (x + 0.34, 0.22, 0.45))
    pile.box("shopfront", (-0.05, -0.08, 0), (wide + 0.05, 0.2, low))
    for x in np.arange(0.15, wide - 0.5, 0.86):
        pile.box("shopfront_dark", (x, -0.10, 0.14), (x + 0.66, -0.07, low - 0.12))
    pile.box("shopfront", (-0.40, -0.20, high + 0.06), (wide + 0.40, 0.2, 3.10))
    pile.box("stone", (-0.50, -0.30, 3.10), (wide + 0.50, 0.2, 3.22))
    for x in (-0.02, wide * 0.5 - 0.03, wide - 0.05):
        pile.box("shopfront", (x, -0.04, low), (x + 0.07, 0.06, high + 0.06))
    pile.box("shopfront", (0, -0.03, high - 0.42), (wide, 0.05, high - 0.36))
    pile.box("wood", (0, 0.02, low - 0.06), (wide, deep, low))
    pile.box("inside_wall", (0, deep, low), (wide, deep + 0.05, high + 0.4))
    for x in (-0.05, wide):
        pile.box("inside_wall", (x, 0.2, low), (x + 0.05, deep, high + 0.4))
    pile.box("inside_wall", (0, 0.1, high + 0.3), (wide, deep, high + 0.36))
    pile.box("wood", (0.1, deep - 0.36, 1.42), (wide - 0.1, deep, 1.46))
    pile.box("wood", (0.1, deep - 0.36, 2.02), (wide - 0.1, deep, 2.06))
    _pots(pile, generator, wide, low, deep)
    for x, drop in ((0.75, 2.28), (1.95, 2.12), (2.95, 2.34)):
        pile.tube("iron", [(x, 0.62, high + 0.3), (x, 0.62, drop + 0.1)], 0.008)
        pile.lathe(
            "enamel", [(0.03, 0.13), (0.05, 0.10), (0.17, 0.02), (0.18, 0.0)], at=(x, 0.62, drop), sides=24
        )
        pile.ball("bulb", (x, 0.62, drop - 0.02), (0.045, 0.045, 0.06), 16)
    pile.at((0, 0, 0))


def _pots(pile: Pile, generator: np.random.Generator, wide: float, low: float, deep: float) -> None:
    shapes = (
        [(0.06, 0), (0.12, 0.10), (0.13, 0.20), (0.07, 0.32), (0.05, 0.38), (0.07, 0.42)],
        [(0.08, 0), (0.09, 0.02), (0.15, 0.10), (0.17, 0.16)],
        [(0.05, 0), (0.09, 0.06), (0.09, 0.20), (0.04, 0.28), (0.035, 0.40), (0.045, 0.42)],
        [(0.10, 0), (0.105, 0.20), (0.11, 0.22)],
    )
    glazes = [
        "glaze_blue",
        "glaze_ochre",
        "glaze_green",
        "glaze_white",
        "glaze_red",
        "terracotta",
        "glaze_white",
    ]
    rows = ((low, 0.45, 9), (low, 0.85, 8), (1.46, deep - 0.18, 10), (2.06, deep - 0.18, 9))
    for z, y, count in rows:
        for x in np.linspace(0.28, wide - 0.28, count) + generator.normal(0, 0.03, count):
            outline = shapes[generator.integers(len(shapes))]
            grow = generator.uniform(0.85, 1.1)
            pile.lathe(
                str(generator.choice(glazes)),
                [(r * grow, h * grow) for r, h in outline],
                at=(x, y, z),
                sides=24,
            )


def clock_tower(pile: Pile, place: ArrayLike, *, lit: bool) -> None:
    """A square tower with a clock on its south face and a steep roof."""
    pile.at(place)
    pile.box("brick", (-2.2, -2.2, 0), (2.2, 2.2, 18.5))
    for z in (6.0, 12.0, 18.5):
        pile.box("stone", (-2.4, -2.4, z), (2.4, 2.4, z + 0.4))
    pile.box("plaster_pale", (-2.1, -2.1, 18.9), (2.1, 2.1, 22.6))
    pile.box("stone", (-2.5, -2.5, 22.6), (2.5, 2.5, 23.0))
    base = np.array([(-2.5, -2.5, 23), (2.5, -2.5, 23), (2.5, 2.5, 23), (-2.5, 2.5, 23)], dtype=float)
    peak = np.array([0, 0, 29.0])
    pile.add("copper", np.stack([np.stack((base[k], base[(k + 1) % 4], peak)) for k in range(4)]))
    angle = np.linspace(0, 2 * np.pi, 49)
    face = np.stack((1.35 * np.cos(angle), np.full(49, -2.14), 20.75 + 1.35 * np.sin(angle)), axis=1)
    middle = np.broadcast_to(face.mean(axis=0), face[:-1].shape)
    pile.add("clock_lit" if lit else "cream", np.stack((middle, face[:-1], face[1:]), axis=1))
    for hour in range(12):
        way = np.array([np.sin(hour * np.pi / 6), 0, np.cos(hour * np.pi / 6)])
        centre = np.array([0, -2.17, 20.75])
        pile.tube("iron", [centre + way * 1.08, centre + way * 1.26], 0.05)
    for reach, turn, thick in ((0.75, 3.6, 0.07), (1.1, 1.2, 0.05)):
        way = np.array([np.sin(turn), 0, np.cos(turn)])
        pile.tube("iron", [np.array([0, -2.2, 20.75]), np.array([0, -2.2, 20.75]) + way * reach], thick)
    pile.at((0, 0, 0))
