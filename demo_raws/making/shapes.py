"""Triangles by material: boxes, turned and extruded shapes, arches, leaves. Metres, z up.

Every corner carries a normal and, for textures, its position in metres on the plane it mostly lies in.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
_CORNER = np.dtype([(name, "<f4") for name in ("x", "y", "z", "nx", "ny", "nz", "u", "v")])
_FACE = np.dtype([("count", "u1"), ("corners", "<i4", 3)])


def turned(points: ArrayLike, degrees: float, origin: ArrayLike = (0, 0, 0)) -> Array:
    """Points turned about the vertical through ``origin``."""
    angle = np.radians(degrees)
    turn = np.array([[np.cos(angle), -np.sin(angle), 0], [np.sin(angle), np.cos(angle), 0], [0, 0, 1]])
    start = np.asarray(origin, dtype=float)
    return np.asarray((np.asarray(points, dtype=float) - start) @ turn.T + start)


class Pile:
    """A growing heap of triangles, sorted by material.

    ``frame`` turns and shifts whatever is added: (degrees about z, shift).
    """

    def __init__(self) -> None:
        self.triangles: dict[str, list[Array]] = defaultdict(list)
        self.normals: dict[str, list[Array]] = defaultdict(list)
        self.frame: tuple[float, Array] = (0.0, np.zeros(3))

    def at(self, place: ArrayLike, degrees: float = 0.0) -> Pile:
        """Set where the following shapes stand, and return the pile."""
        self.frame = (degrees, np.asarray(place, dtype=float))
        return self

    def add(self, material: str, triangles: Array, normals: Array | None = None) -> None:
        """Add (n, 3, 3) triangles, with their own normals if they are to look round."""
        if normals is None:
            flat = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
            flat /= np.linalg.norm(flat, axis=1, keepdims=True) + 1e-12
            normals = np.repeat(flat[:, None], 3, axis=1)
        degrees, shift = self.frame
        self.triangles[material].append(turned(triangles, degrees) + shift)
        self.normals[material].append(turned(normals, degrees))

    def put(self, other: Pile, place: ArrayLike, degrees: float = 0.0, *, scale: float = 1.0) -> None:
        """Add all of another pile, scaled, turned about the vertical, and shifted to ``place``."""
        for name in other.triangles:
            for points, normals in zip(other.triangles[name], other.normals[name], strict=True):
                moved = turned(scale * points, degrees) + np.asarray(place, dtype=float)
                self.add(name, moved, turned(normals, degrees))

    def quads(self, material: str, corners: Array) -> None:
        """Add (n, 4, 3) flat four-sided faces."""
        self.add(material, np.concatenate((corners[:, [0, 1, 2]], corners[:, [0, 2, 3]])))

    def box(self, material: str, low: ArrayLike, high: ArrayLike) -> None:
        """A box between two corners."""
        a, b = np.asarray(low, dtype=float), np.asarray(high, dtype=float)
        grid = np.array([[(b if (k >> i) & 1 else a)[i] for i in range(3)] for k in range(8)])
        sides = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
        self.quads(material, grid[np.array(sides)])

    def surface(self, material: str, grid: Array) -> None:
        """A smooth surface through a (rows, columns, 3) grid of points."""
        down, across = np.gradient(grid, axis=0), np.gradient(grid, axis=1)
        normal = np.cross(across, down)
        normal /= np.linalg.norm(normal, axis=2, keepdims=True) + 1e-12
        for layer, put in ((grid, self.triangles), (normal, self.normals)):
            a, b, c, d = layer[:-1, :-1], layer[:-1, 1:], layer[1:, 1:], layer[1:, :-1]
            shape = np.concatenate(
                (np.stack((a, b, c), 2).reshape(-1, 3, 3), np.stack((a, c, d), 2).reshape(-1, 3, 3))
            )
            degrees, shift = self.frame
            moved = turned(shape, degrees)
            put[material].append(moved + shift if put is self.triangles else moved)

    def lathe(
        self,
        material: str,
        profile: Sequence[tuple[float, float]],
        *,
        at: ArrayLike = (0, 0, 0),
        flatten: float = 1.0,
        sides: int = 20,
        lean: ArrayLike = (0, 0),
    ) -> None:
        """A turned shape of (radius, height) pairs; ``flatten`` squeezes y, ``lean`` shears."""
        outline = np.asarray(profile, dtype=float)
        fine = np.linspace(0, len(outline) - 1, 4 * len(outline))
        radius = np.interp(fine, np.arange(len(outline)), outline[:, 0])
        height = np.interp(fine, np.arange(len(outline)), outline[:, 1])
        angle = np.linspace(0, 2 * np.pi, sides + 1)
        x = radius[:, None] * np.cos(angle) + np.asarray(lean)[0] * height[:, None]
        y = radius[:, None] * np.sin(angle) * flatten + np.asarray(lean)[1] * height[:, None]
        z = np.broadcast_to(height[:, None], x.shape)
        self.surface(material, np.stack((x, y, z), axis=-1) + np.asarray(at, dtype=float))

    def ball(self, material: str, centre: ArrayLike, radii: ArrayLike, sides: int = 16) -> None:
        """An ellipsoid."""
        polar = np.linspace(np.pi - 1e-3, 1e-3, sides // 2 + 2)[:, None]  # upwards: normals point out
        angle = np.linspace(0, 2 * np.pi, sides + 1)[None, :]
        unit = np.stack(
            (np.sin(polar) * np.cos(angle), np.sin(polar) * np.sin(angle), np.cos(polar) + 0 * angle), axis=-1
        )
        self.surface(material, unit * np.broadcast_to(np.asarray(radii, dtype=float), 3) + np.asarray(centre))

    def tube(self, material: str, points: ArrayLike, radius: ArrayLike, sides: int = 8) -> None:
        """A round rod along points, of one radius or one at each point."""
        path = np.asarray(points, dtype=float)
        along = np.gradient(path, axis=0)
        along /= np.linalg.norm(along, axis=1, keepdims=True) + 1e-12
        one = np.zeros_like(path)
        last = np.eye(3)[np.abs(along[0]).argmin()]
        for k, way in enumerate(along):  # carried along the path, so that the rod does not twist
            last = last - way * (last @ way)
            one[k] = last = last / np.linalg.norm(last)
        two = np.cross(along, one)
        angle = np.linspace(0, 2 * np.pi, sides + 1)
        reach = np.broadcast_to(np.asarray(radius, dtype=float), len(path))[:, None, None]
        ring = one[:, None] * np.cos(angle)[:, None] + two[:, None] * np.sin(angle)[:, None]
        self.surface(material, path[:, None] + reach * ring)

    def extrude(
        self, material: str, outline: ArrayLike, low: float, high: float, *, caps: bool = True
    ) -> None:
        """A convex outline in x and z, drawn along y from ``low`` to ``high``."""
        flat = np.asarray(outline, dtype=float)
        front = np.stack((flat[:, 0], np.full(len(flat), low), flat[:, 1]), axis=1)
        back = front + np.array([0, high - low, 0])
        follow = np.roll(np.arange(len(flat)), -1)
        self.quads(material, np.stack((front, front[follow], back[follow], back), axis=1))
        if caps:
            for end in (front, back):
                middle = np.broadcast_to(end.mean(axis=0), end.shape)
                self.add(material, np.stack((middle, end, end[follow]), axis=1))

    def arch(
        self,
        material: str,
        left: float,
        right: float,
        *,
        springing: float,
        top: float,
        depth: tuple[float, float],
        rise: float = 1.0,
        reveal: str | None = None,
    ) -> None:
        """The wall above a round arch between x ``left`` and ``right``, and its soffit; y spans ``depth``."""
        angle = np.linspace(np.pi, 0, 25)
        half = (right - left) / 2
        x = (left + right) / 2 + half * np.cos(angle)
        z = springing + half * rise * np.sin(angle)
        for y in depth:
            points = [np.stack((x, np.full_like(x, y), h), axis=1) for h in (z, np.full_like(x, top))]
            self.quads(
                material, np.stack((points[0][:-1], points[0][1:], points[1][1:], points[1][:-1]), axis=1)
            )
        ends = [np.stack((x, np.full_like(x, y), z), axis=1) for y in depth]
        self.quads(
            reveal or material, np.stack((ends[0][:-1], ends[0][1:], ends[1][1:], ends[1][:-1]), axis=1)
        )

    def leaves(
        self, material: str, centre: ArrayLike, radii: ArrayLike, count: int, size: float, seed: int
    ) -> None:
        """Small four-sided leaves strewn through an ellipsoid, denser towards its skin, turned at random."""
        generator = np.random.default_rng(seed)
        direction = generator.normal(size=(count, 3))
        direction /= np.linalg.norm(direction, axis=1, keepdims=True)
        reach = generator.uniform(0.2, 1, (count, 1)) ** 0.5
        place = np.asarray(centre) + direction * reach * np.asarray(radii)
        one = generator.normal(size=(count, 3))
        one /= np.linalg.norm(one, axis=1, keepdims=True)
        two = np.cross(one, generator.normal(size=(count, 3)))
        two /= np.linalg.norm(two, axis=1, keepdims=True)
        length = size * generator.uniform(0.6, 1.2, (count, 1))
        one, two = one * length, two * length * 0.6
        self.quads(material, np.stack((place - one, place - two, place + one, place + two), axis=1))

    def write(self, folder: Path) -> dict[str, Path]:
        """Write one binary PLY file a material, and return them by material."""
        return {name: self._ply(name, folder / f"{name}.ply") for name in self.triangles}

    def _ply(self, material: str, path: Path) -> Path:
        points = np.concatenate(self.triangles[material])
        normals = np.concatenate(self.normals[material])
        flat = np.abs(np.cross(points[:, 1] - points[:, 0], points[:, 2] - points[:, 0])).argmax(axis=1)
        u = np.where(flat[:, None] == 0, points[..., 1], points[..., 0])
        v = np.where(flat[:, None] == 2, points[..., 1], points[..., 2])
        corners = np.zeros(points.shape[:2], _CORNER)
        layers = (*np.moveaxis(points, -1, 0), *np.moveaxis(normals, -1, 0), u, v)
        for name, layer in zip(_CORNER.names or (), layers, strict=True):
            corners[name] = layer
        faces = np.zeros(len(points), _FACE)
        faces["count"] = 3
        faces["corners"] = np.arange(len(points) * 3).reshape(-1, 3)
        lines = ["ply", "format binary_little_endian 1.0", f"element vertex {corners.size}"]
        lines += [f"property float {name}" for name in _CORNER.names or ()]
        lines += [f"element face {len(faces)}", "property list uchar int vertex_indices", "end_header\n"]
        path.write_bytes("\n".join(lines).encode() + corners.tobytes() + faces.tobytes())
        return path
