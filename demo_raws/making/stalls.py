"""Market stalls: trestles, crates of fruit, an awning, and the chart on its easel."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from making.shapes import Pile, turned

FRUIT = {
    "orange": (0.045, (1, 1, 0.96)),
    "apple_red": (0.040, (1, 1, 0.92)),
    "apple_green": (0.040, (1, 1, 0.92)),
    "lemon": (0.034, (1.25, 1, 1)),
    "plum": (0.026, (1, 1, 1.1)),
    "tomato": (0.042, (1, 1, 0.85)),
}


def crate(
    pile: Pile, low: ArrayLike, size: tuple[float, float, float], fruit: str, seed: int, tilt: float = 0.0
) -> None:
    """An open slatted crate, heaped; ``tilt`` lowers its front (-y) by so many degrees."""
    wide, deep, tall = size
    place = np.asarray(low, dtype=float)
    inner = Pile()
    for y in (0.0, deep - 0.015):
        for z in np.linspace(0.01, tall - 0.055, 3):
            inner.box("crate", (0, y, z), (wide, y + 0.012, z + 0.045))
    for x in (0.0, wide - 0.015):
        inner.box("crate", (x, 0, 0), (x + 0.015, deep, tall + 0.02))
    inner.box("crate", (0, 0, 0), (wide, deep, 0.012))
    _heap(inner, wide, deep, tall, fruit, seed)
    slope = np.radians(tilt)
    for name in inner.triangles:
        for points, normals in zip(inner.triangles[name], inner.normals[name], strict=True):
            moved, way = points.copy(), normals.copy()
            moved[..., 2] += moved[..., 1] * np.tan(slope)
            way[..., 1] -= way[..., 2] * np.tan(slope)
            pile.add(name, moved + place, way / np.linalg.norm(way, axis=-1, keepdims=True))


def _heap(pile: Pile, wide: float, deep: float, tall: float, fruit: str, seed: int) -> None:
    generator = np.random.default_rng(seed)
    if fruit == "greens":
        for x in np.arange(0.09, wide - 0.05, 0.15):
            for y in np.arange(0.09, deep - 0.05, 0.15):
                kind = "leaf_light" if generator.random() < 0.5 else "leaf"
                pile.leaves(
                    kind,
                    (x, y, tall + 0.01),
                    (0.09, 0.09, 0.07),
                    130,
                    0.055,
                    int(generator.integers(1_000_000_000)),
                )
        return
    radius, form = FRUIT[fruit]
    pitch = radius * 1.93
    for layer in range(2):
        offset = layer * pitch / 2
        for x in np.arange(radius + 0.02 + offset, wide - radius - 0.01 - offset / 2, pitch):
            for y in np.arange(radius + 0.02 + offset, deep - radius - 0.01 - offset / 2, pitch):
                grow = generator.uniform(0.9, 1.06)
                centre = np.array([x, y, tall - 0.03 + layer * radius * 1.25]) + generator.normal(0, 0.004, 3)
                pile.ball(fruit, centre, radius * grow * np.asarray(form), 14)


def stall(
    pile: Pile,
    place: ArrayLike,
    degrees: float,
    *,
    goods: list[str],
    cloth: str | None,
    seed: int,
    bulb: bool = False,
) -> None:
    """A stall 2.6 m long whose customers stand on the -y side: two tiers of crates, an awning on poles."""
    local = Pile()
    local.box("wood", (0, 0.0, 0.66), (2.6, 0.52, 0.70))
    local.box("wood", (0, 0.52, 0.84), (2.6, 1.05, 0.88))
    local.box("canvas", (0.0, -0.012, 0.18), (2.6, 0.0, 0.70))
    for x in (0.05, 2.51):
        local.box("wood", (x, 0.04, 0), (x + 0.05, 0.09, 0.66))
        local.box("wood", (x, 0.92, 0), (x + 0.05, 0.97, 0.84))
    wide = 2.6 / 5
    for k in range(10):
        row, column = divmod(k, 5)
        low = (column * wide + 0.02, 0.03 + 0.52 * row, 0.70 + 0.18 * row)
        crate(local, low, (wide - 0.04, 0.46, 0.13), fruit=goods[k % len(goods)], seed=seed + k, tilt=14)
    if cloth:
        _canopy(local, cloth)
    if bulb:
        for x in (0.7, 1.9):
            local.tube("wire", [(x, 0.4, 2.2), (x, 0.4, 1.95)], 0.006, 5)
            local.ball("bulb", (x, 0.4, 1.9), (0.04, 0.04, 0.055), 14)
    pile.put(local, place, degrees)


def _canopy(pile: Pile, cloth: str) -> None:
    for x in (0.03, 2.57):
        for y, high in ((-0.35, 2.05), (1.1, 2.45)):
            pile.tube("wood", [(x, y, 0), (x, y, high)], 0.022)
    edges = np.linspace(-0.1, 2.7, 15)
    for k in range(14):
        paint = cloth if k % 2 == 0 else "cloth_white"
        a, b = edges[k], edges[k + 1]
        slope = [(a, -0.65, 1.98), (b, -0.65, 1.98), (b, 1.2, 2.48), (a, 1.2, 2.48)]
        drop = [(a, -0.66, 1.78), (b, -0.66, 1.78), (b, -0.65, 1.98), (a, -0.65, 1.98)]
        pile.quads(paint, np.array([slope, drop]))


def chart_board(pile: Pile, place: ArrayLike, degrees: float, lean: float, width: float = 0.30) -> np.ndarray:
    """The 24-patch chart leaning back by ``lean`` degrees; returns the corners of each patch, (24, 4, 3)."""
    pitch = width / 6.5
    tall = 4.5 * pitch
    slope = np.radians(lean)

    def board(x: float, z: float, out: float) -> tuple[float, float, float]:
        return (x, -out * np.cos(slope) + z * np.sin(slope), z * np.cos(slope) + out * np.sin(slope))

    def rectangle(left: float, right: float, low: float, high: float, out: float) -> np.ndarray:
        corners = [board(x, z, out) for x, z in ((left, low), (right, low), (right, high), (left, high))]
        return np.asarray(turned(np.array(corners), degrees) + np.asarray(place, dtype=float))

    pile.quads("chart_frame", rectangle(-width / 2, width / 2, 0, tall, 0)[None])
    patches = []
    for k in range(24):
        row, column = divmod(k, 6)
        left = -width / 2 + pitch * (0.25 + column) + 0.08 * pitch
        high = tall - pitch * (0.25 + row) - 0.08 * pitch
        corners = rectangle(left, left + 0.84 * pitch, high - 0.84 * pitch, high, 0.001)
        pile.quads(f"patch_{k:02d}", corners[None])
        patches.append(corners)
    return np.array(patches)
