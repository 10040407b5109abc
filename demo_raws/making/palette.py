"""The colours of the place: a reflectance spectrum for every material name, glosses, lamps, skies."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

import numpy as np
from numpy.typing import NDArray

from making import spectra
from making.spectra import bumps, step

Array = NDArray[np.float64]


@cache
def reflectances() -> Mapping[str, Array]:
    """Reflectance of every plain material. Skin and the chart's patches are measured, the rest invented."""
    patches = spectra.chart()
    table = {
        "asphalt": bumps(0.075),
        "flags": step(0.20, 0.27, 540, 60),
        "kerb": step(0.26, 0.33, 540, 60),
        "stone": step(0.33, 0.46, 530, 55),
        "plinth": step(0.13, 0.19, 560, 60),
        "brick": step(0.06, 0.30, 592, 22),
        "brick_dark": step(0.045, 0.18, 596, 24),
        "mortar": step(0.26, 0.38, 550, 60),
        "plaster_ochre": step(0.17, 0.58, 525, 24),
        "plaster_pale": step(0.48, 0.62, 500, 40),
        "plaster_rose": step(0.27, 0.52, 575, 26),
        "plaster_grey": bumps(0.40, (0.03, 480, 60)),
        "plaster_cream": step(0.40, 0.70, 490, 26),
        "inside_wall": step(0.40, 0.62, 510, 40),
        "slate": bumps(0.075, (0.03, 460, 50)),
        "terracotta": step(0.07, 0.38, 590, 22),
        "copper": bumps(0.17, (0.12, 510, 55)),
        "bark": step(0.07, 0.14, 570, 50),
        "wood": step(0.10, 0.34, 570, 45),
        "crate": step(0.22, 0.56, 540, 45),
        "canvas": step(0.30, 0.44, 520, 50),
        "cloth_white": step(0.60, 0.74, 470, 30),
        "cloth_red": step(0.035, 0.48, 608, 11),
        "cloth_blue": bumps(0.05, (0.28, 455, 32)),
        "cloth_green": bumps(0.045, (0.20, 530, 26)),
        "cream": step(0.34, 0.72, 485, 22),
        "grey_paint": bumps(0.22),
        "paint_teal": bumps(0.03, (0.15, 500, 30)),
        "iron": bumps(0.028, (0.022, 510, 40)),
        "wire": bumps(0.02),
        "groove": bumps(0.02),
        "frame": bumps(0.62),
        "shutter_green": bumps(0.05, (0.05, 520, 45)),
        "shutter_grey": bumps(0.25, (0.04, 470, 40)),
        "shopfront": bumps(0.03, (0.085, 525, 28)),
        "shopfront_dark": bumps(0.02, (0.05, 525, 28)),
        "seat": step(0.04, 0.30, 600, 16),
        "floor_inside": bumps(0.10),
        "trousers": bumps(0.035, (0.015, 450, 40)),
        "shoe": bumps(0.02),
        "trim": bumps(0.02),
        "eye": step(0.03, 0.05, 580, 30),
        "lip": step(0.10, 0.30, 605, 16),
        "hair_dark": step(0.018, 0.05, 620, 40),
        "hair_grey": bumps(0.33),
        "hair_fair": step(0.10, 0.36, 560, 40),
        "hat_black": bumps(0.02),
        "hat_straw": step(0.18, 0.55, 520, 32),
        "hat_brown": step(0.05, 0.16, 590, 40),
        "skin_light": patches["light skin"],
        "skin_dark": patches["dark skin"],
        "skin_middle": 0.5 * (patches["light skin"] + patches["dark skin"]),
        "coat_navy": bumps(0.025, (0.07, 450, 30)),
        "coat_red": step(0.025, 0.46, 606, 11),
        "coat_camel": step(0.11, 0.40, 560, 34),
        "coat_grey": bumps(0.15),
        "coat_black": bumps(0.022),
        "coat_green": bumps(0.045, (0.045, 535, 45)),
        "coat_mustard": step(0.05, 0.52, 545, 16),
        "scarf_yellow": step(0.06, 0.66, 520, 12),
        "scarf_white": bumps(0.68),
        "scarf_red": step(0.04, 0.45, 608, 11),
        "umbrella_black": bumps(0.022),
        "umbrella_red": step(0.03, 0.42, 610, 11),
        "bag_brown": step(0.05, 0.20, 590, 35),
        "orange": step(0.04, 0.62, 578, 11),
        "apple_red": step(0.03, 0.42, 612, 16),
        "lemon": step(0.06, 0.74, 512, 10),
        "apple_green": bumps(0.05, (0.34, 555, 34), (0.25, 740, 40)),
        "plum": bumps(0.025, (0.06, 430, 24), (0.10, 720, 30)),
        "tomato": step(0.03, 0.46, 604, 10),
        "leaf": bumps(0.030, (0.065, 553, 32), (0.45, 748, 26)),
        "leaf_light": bumps(0.045, (0.125, 558, 36), (0.50, 748, 30)),
        "enamel": bumps(0.55),
        "globe": bumps(0.72),
        "glaze_blue": bumps(0.05, (0.38, 460, 30)),
        "glaze_ochre": step(0.06, 0.46, 555, 18),
        "glaze_green": bumps(0.05, (0.25, 520, 30)),
        "glaze_white": bumps(0.74),
        "glaze_red": step(0.03, 0.38, 606, 12),
        "chart_frame": bumps(0.03),
        "card_grey": bumps(0.18),
        "card_white": bumps(0.90),
        "lens_dark": bumps(0.10),
    }
    table.update({f"patch_{k:02d}": values for k, values in enumerate(patches.values())})
    return table


GLOSS = {  # roughness of a clear coat over the colour
    "paint_teal": 0.08,
    "cream": 0.10,
    "iron": 0.22,
    "shopfront": 0.12,
    "shopfront_dark": 0.12,
    "frame": 0.3,
    "orange": 0.22,
    "apple_red": 0.12,
    "apple_green": 0.12,
    "lemon": 0.25,
    "plum": 0.25,
    "tomato": 0.08,
    "glaze_blue": 0.06,
    "glaze_ochre": 0.08,
    "glaze_green": 0.06,
    "glaze_white": 0.06,
    "glaze_red": 0.08,
    "shoe": 0.15,
    "enamel": 0.1,
    "globe": 0.08,
    "umbrella_black": 0.25,
    "umbrella_red": 0.25,
    "hat_black": 0.4,
    "skin_light": 0.38,
    "skin_middle": 0.34,
    "skin_dark": 0.32,
    "eye": 0.06,
    "lip": 0.3,
    "slate": 0.35,
    "lens_dark": 0.05,
    "bag_brown": 0.2,
}


_WARM, _WARMER, _COLD = 2700.0, 2350.0, "LED-B5"
LAMPS: dict[str, tuple[float | str, float, float]] = {  # spectrum, cd/m², how often it is sampled
    "lamp_warm": (_WARM, 9000.0, 6.0),
    "lamp_market": (_WARMER, 14000.0, 3.0),
    "lamp_cold": (_COLD, 5200.0, 5.0),
    "tram_light": ("LED-B3", 3000.0, 3.0),
    "pane_lit": (_WARM, 28.0, 0.3),
    "pane_shop": (_WARM, 70.0, 1.0),
    "bulb": (2550.0, 60000.0, 6.0),
    "headlight": ("LED-B3", 30000.0, 0.5),
    "taillight": ("red", 300.0, 0.1),
    "board_lit": ("amber", 160.0, 0.1),
    "clock_lit": (3400.0, 120.0, 0.2),
}


def lamp_spectrum(kind: float | str) -> Array:
    """The relative spectrum of a lamp: a black body by kelvin, a CIE LED by name, or a coloured one."""
    if isinstance(kind, float):
        return spectra.planckian(kind)
    if kind == "red":
        return bumps(0.0, (1.0, 632, 9))
    if kind == "amber":
        return bumps(0.0, (1.0, 592, 8))
    return spectra.lamp(kind)


def dusk() -> Array:
    """Spectral radiance of the sky an hour after sunset: 0.35 cd/m², 14000 K."""
    return spectra.of_luminance(spectra.daylight(14000.0), 0.35)


def overcast(level: float = 2600.0) -> Array:
    """Spectral radiance of an even grey sky, 6800 K."""
    return spectra.of_luminance(spectra.daylight(6800.0), level)


def fog_light() -> Array:
    """Spectral radiance of the fog's air."""
    return overcast(1500.0)
