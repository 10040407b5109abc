"""The twelve frames as scenes: what is there, in what light, and where the photographer stands."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from making import materials, palette, sets
from making.shapes import Pile

Array = NDArray[np.float64]
Node = dict[str, Any]
SUN_FROM = (0.52, -0.50, 0.72)


@dataclass(frozen=True)
class Scene:
    """One frame's scene. ``card`` is where a card facing the camera shows the light on the subject.

    ``fog`` is an extinction per metre, ``focal_35mm`` and ``f_number`` are of the lens, ``focus`` in metres.
    """

    build: Callable[[Pile], None]
    light: str
    eye: tuple[float, float, float]
    target: tuple[float, float, float]
    focal: float
    focal_35mm: float
    f_number: float
    focus: float
    card: tuple[float, float, float]
    wet: bool = False
    fog: float = 0.0
    upright: bool = False
    samples: int = 17


def _constant(values: Array) -> dict[str, Node]:
    return {"sky": {"type": "constant", "radiance": materials.spectrum(values)}}


def lights(kind: str) -> dict[str, Node]:
    """The sky (and sun) of a kind of light; lamps belong to the town."""
    if kind == "night":
        return _constant(palette.dusk())
    if kind == "grey":
        return _constant(palette.overcast())
    if kind == "fog":
        return _constant(palette.fog_light())
    sky: Node = {"type": "sunsky", "turbidity": 2.6, "sun_direction": list(SUN_FROM), "albedo": 0.2}
    return {"sky": sky}


_WIDE, _MIDDLE, _REPRO = (18.0, 27.0), (35.0, 53.0), (60.0, 90.0)
SCENES: Mapping[str, Scene] = {
    "night-wide": Scene(
        sets.night,
        "night",
        (-4.1, -4.6, 1.55),
        (1.1, 14.0, 2.35),
        *_WIDE,
        2.8,
        15.0,
        (4.4, 8.0, 1.4),
        wet=True,
        samples=37,
    ),
    "night-middle": Scene(
        sets.night_stop,
        "night",
        (2.6, -1.0, 1.45),
        (4.9, 5.2, 1.42),
        *_MIDDLE,
        1.8,
        6.1,
        (5.3, 4.3, 1.4),
        wet=True,
        samples=27,
    ),
    "night-tight": Scene(
        sets.window,
        "night",
        (0.5, -5.0, 1.5),
        (1.75, 0.0, 1.62),
        *_MIDDLE,
        2.0,
        5.1,
        (1.8, 0.5, 1.3),
        wet=True,
        samples=27,
    ),
    "fog-wide": Scene(
        sets.fog,
        "fog",
        (-0.6, -3.4, 1.5),
        (0.9, 20.0, 2.5),
        *_WIDE,
        5.6,
        12.0,
        (-1.9, 7.0, 1.4),
        wet=True,
        fog=0.040,
    ),
    "fog-middle": Scene(
        sets.fog_rails,
        "fog",
        (-1.9, -3.6, 1.1),
        (0.6, 8.0, 1.6),
        *_MIDDLE,
        4.0,
        7.3,
        (0.25, 3.0, 1.4),
        wet=True,
        fog=0.055,
    ),
    "grey-middle": Scene(
        sets.grey_portrait,
        "grey",
        (-3.3, 5.0, 1.5),
        (-7.0, 8.9, 1.28),
        *_MIDDLE,
        2.8,
        4.9,
        (-6.6, 8.2, 1.5),
        upright=True,
    ),
    "grey-tight": Scene(
        sets.grey_fruit,
        "grey",
        (-6.4, 4.6, 1.55),
        (-8.2, 7.0, 1.13),
        *_MIDDLE,
        2.8,
        2.6,
        (-7.9, 6.6, 1.05),
    ),
    "chart": Scene(
        sets.chart,
        "grey",
        (-6.46, 0.585, 1.30),
        (-7.335, 1.215, 0.960),
        *_REPRO,
        8.0,
        1.12,
        (-7.35, 1.0, 0.95),
        samples=24,
    ),
    "shade-middle": Scene(
        sets.shade,
        "noon",
        (4.7, 1.5, 1.45),
        (8.0, 8.6, 1.45),
        *_MIDDLE,
        2.8,
        6.6,
        (7.35, 6.6, 1.4),
    ),
    "noon-wide": Scene(
        sets.noon,
        "noon",
        (-0.6, -3.4, 1.6),
        (-4.4, 12.0, 2.7),
        *_WIDE,
        8.0,
        10.0,
        (-4.9, 4.1, 1.4),
        samples=24,
    ),
    "noon-middle": Scene(
        sets.noon_arcade,
        "noon",
        (-11.6, 3.4, 1.45),
        (-10.9, 14.0, 1.9),
        *_MIDDLE,
        8.0,
        9.8,
        (-10.9, 12.9, 1.4),
    ),
    "noon-tight": Scene(
        sets.leaves,
        "noon",
        (-6.3, 40.9, 1.6),
        (-7.9, 48.5, 7.4),
        *_MIDDLE,
        4.0,
        6.0,
        (-5.0, 44.6, 3.0),
    ),
}
