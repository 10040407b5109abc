"""Coats, and what is worn over them: a body by sections, seams, collar, lapels, a scarf."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from making.lofts import Sections, loft
from making.shapes import Pile

Array = NDArray[np.float64]
_COAT: Sections = (
    (0.470, 0.243, 0.172, 0.000),
    (0.620, 0.226, 0.160, 0.000),
    (0.860, 0.192, 0.138, 0.000),
    (1.020, 0.174, 0.124, 0.000),
    (1.160, 0.183, 0.126, -0.004),
    (1.280, 0.196, 0.122, -0.004),
    (1.345, 0.196, 0.108, 0.004),
    (1.390, 0.168, 0.090, 0.010),
    (1.425, 0.118, 0.074, 0.012),
    (1.455, 0.074, 0.066, 0.008),
)
_SQUARE = 2.5  # exponent of a coat's cross-section: a little squarer than an ellipse


def coat(pile: Pile, cloth: str, *, phase: float, stride: float) -> None:
    """A coat with folds that grow towards the hem; ``phase`` tells one coat's folds from another's."""
    z = np.linspace(_COAT[0][0], _COAT[-1][0], 49)[:, None]
    angle = np.linspace(0, 2 * np.pi, 97)[None, :]
    wide, deep, shift = loft(_COAT, z[:, 0])
    x, y = _around(angle, _SQUARE)
    folds = np.sin(7 * angle + phase) + 0.7 * np.sin(11 * angle + 2.3 * phase + 3 * z)
    drop = np.clip((1.02 - z) / 0.55, 0, 1) ** 1.5
    creases = np.sin(40 * z + 3 * np.cos(angle + phase)) * np.exp(-(((z - 1.04) / 0.07) ** 2))
    grow = 1 + 0.028 * drop * folds + 0.008 * creases
    sway = 0.10 * stride * drop * np.sin(angle)
    grid = np.stack(
        (x * wide[:, None] * grow, y * deep[:, None] * grow + shift[:, None] + sway, z + 0 * x), -1
    )
    pile.surface(cloth, grid)
    _seams(pile, cloth)
    _collar(pile, cloth)


def _seams(pile: Pile, cloth: str) -> None:
    """The opening and its buttons, lapels, pockets; a seam and half-belt behind."""
    _drape(pile, "trim", (-0.004, 0.004), (0.50, 1.30), front=True, out=0.004)
    _drape(pile, "trim", (-0.003, 0.003), (0.50, 1.40), front=False, out=0.003)
    _drape(pile, cloth, (-0.115, 0.115), (1.00, 1.045), front=False, out=0.012)
    for side in (-1, 1):
        edges = sorted((side * 0.075, side * 0.155))
        _drape(pile, cloth, (edges[0], edges[1]), (0.90, 0.945), front=True, out=0.012)
        _lapel(pile, cloth, side)
    for height in (0.76, 0.89, 1.02, 1.15):
        pile.ball("trim", (0.035, float(_front(0.035, height)) - 0.006, height), (0.013, 0.007, 0.013), 10)


def _collar(pile: Pile, cloth: str) -> None:
    """A collar that stands up and folds over, lower before than behind."""
    angle = np.linspace(0, 2 * np.pi, 49)[None, :]
    rows = np.array([(0.070, 1.43), (0.081, 1.49), (0.084, 1.515), (0.094, 1.505), (0.108, 1.44)])
    tall = 1 - 0.25 * np.clip(-np.sin(angle), 0, 1) ** 4
    ring = np.stack(
        (
            rows[:, :1] * np.cos(angle),
            rows[:, :1] * np.sin(angle) * 0.88 + 0.008,
            1.43 + (rows[:, 1:] - 1.43) * tall,
        ),
        axis=-1,
    )
    pile.surface(cloth, ring)


def _front(x: ArrayLike, z: ArrayLike, *, front: bool = True) -> Array:
    """y of the coat's surface before (or behind) a point."""
    wide, deep, shift = loft(_COAT, np.asarray(z, dtype=float))
    across = np.clip(np.abs(np.asarray(x, dtype=float)) / wide, 0, 1)
    way = -1.0 if front else 1.0
    return np.asarray(way * deep * (1 - across**_SQUARE) ** (1 / _SQUARE) + shift)


def _drape(
    pile: Pile, cloth: str, x: tuple[float, float], z: tuple[float, float], *, front: bool, out: float
) -> None:
    """A strip of cloth laid on the coat, raised by ``out``."""
    across, height = np.meshgrid(np.linspace(*x, 9), np.linspace(*z, 17))
    raised = _front(across, height, front=front) + (-out if front else out)
    edge = _front(across, height, front=front)
    raised[[0, -1]], raised[:, [0, -1]] = edge[[0, -1]], edge[:, [0, -1]]
    pile.surface(cloth, np.stack((across, raised, height), axis=-1))


def _lapel(pile: Pile, cloth: str, side: int) -> None:
    """One lapel: narrow at the top button, widest at the chest, up to the neck."""
    height = np.linspace(1.16, 1.44, 15)[:, None]
    width = np.interp(height, [1.16, 1.31, 1.33, 1.44], [0.012, 0.095, 0.075, 0.050])
    share = np.linspace(0, 1, 7)[None, :]
    inner = np.interp(height, [1.16, 1.44], [0.004, 0.045])
    across = side * (inner + share * width)
    raised = _front(across, height) - 0.014 * np.sin(np.pi * np.clip(share * 0.9 + 0.1, 0, 1)) - 0.003
    pile.surface(cloth, np.stack((across, raised, np.broadcast_to(height, across.shape)), axis=-1))


def scarf(pile: Pile, cloth: str) -> None:
    """Two turns about the neck, and an end that hangs."""
    angle = np.linspace(0, 2 * np.pi, 65)
    for height, radius, thick in ((-0.150, 0.092, 0.029), (-0.118, 0.079, 0.026)):
        wave = 0.006 * np.sin(3 * angle + 40 * radius)
        path = np.stack(
            (radius * np.cos(angle), 0.94 * radius * np.sin(angle) + 0.016, height + wave), axis=1
        )
        pile.tube(cloth, path, thick + 0.003 * np.sin(9 * angle), 14)
    z = np.linspace(-0.50, -0.15, 23)[:, None]
    x = np.linspace(0.012, 0.098, 13)[None, :] + 0.01 * np.sin(12 * z)
    y = _front(x, z + 1.615) - 0.040 + 0.018 - 0.006 * np.sin(90 * x) - 0.02 * np.clip((z + 0.25) / 0.1, 0, 1)
    pile.surface(cloth, np.stack((x + 0 * z, y, z + 0 * x), axis=-1))


def _around(angle: Array, exponent: float) -> tuple[Array, Array]:
    """A superellipse of half axes 1 at angles from +x."""
    c, s = np.cos(angle), np.sin(angle)
    return np.sign(c) * np.abs(c) ** (2 / exponent), np.sign(s) * np.abs(s) ** (2 / exponent)
