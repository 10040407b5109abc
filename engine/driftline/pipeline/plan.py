"""The one table that joins a recipe's sections to stages."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import Matrix
from driftline.colorimetry.oklab import rec2020_to_oklab
from driftline.recipe import Recipe
from driftline.stages.chroma import HueBand, chroma
from driftline.stages.curve import curve
from driftline.stages.exposure import exposure
from driftline.stages.gamut import Space, gamut
from driftline.stages.mono import FILTER_WEIGHTS, mono
from driftline.stages.split import split
from driftline.stages.standing import standing
from driftline.stages.white import white, white_matrix

EDITION = 1
"""Raised by every change that alters pixels; a print names it."""

Pixels: TypeAlias = NDArray[np.float32]
Step: TypeAlias = tuple[str, Callable[[Pixels], Pixels]]


@dataclass(frozen=True)
class Plan:
    """What happens to each pixel by itself, in order; sections at their defaults are not in it."""

    steps: tuple[Step, ...]

    def run(self, rgb: Pixels) -> Pixels:
        """Balanced camera RGB (..., 3) to linear output RGB in [0, 1]."""
        for _, step in self.steps:
            rgb = step(rgb)
        return rgb

    def names(self) -> tuple[str, ...]:
        """The steps by name, for tests and for people."""
        return tuple(name for name, _ in self.steps)


def plan(
    recipe: Recipe,
    *,
    camera_to_srgb: Matrix,
    light: tuple[float, float],
    anchor_ev: float = 0.0,
    space: Space = "srgb",
) -> Plan:
    """The stages a recipe asks for, with their settings.

    Parameters
    ----------
    recipe
        The look.
    camera_to_srgb
        (3, 3) balanced camera RGB to linear sRGB.
    light
        CCT in kelvin and Duv of the light the balance makes neutral.
    anchor_ev
        Exposure of *plain* on this frame; left out of account when the recipe is ``metered``.
    space
        Output space.
    """
    matrix = white_matrix(
        camera_to_srgb,
        light=light,
        shift_mired=recipe.white.shift,
        kelvin=recipe.white.kelvin,
        shift_duv=recipe.white.duv,
    )
    ev = recipe.exposure.ev + (anchor_ev if recipe.exposure.anchor == "camera" else 0.0)
    table: list[tuple[str, bool, Callable[[Any], Any]]] = [
        ("white", True, partial(white, matrix=matrix)),
        ("exposure", ev != 0, partial(exposure, ev=ev)),
        ("curve", _acts(recipe.curve), partial(curve, **_settings(recipe.curve))),
        ("standing", True, standing),
        ("oklab", True, rec2020_to_oklab),
        ("chroma", _acts(recipe.chroma), partial(chroma, scale=recipe.chroma.scale, bands=_bands(recipe))),
        ("mono", recipe.mono is not None, partial(mono, weights=_weights(recipe))),
        ("split", _acts(recipe.split), partial(split, **_split(recipe))),
        ("gamut", True, partial(gamut, space=space)),
    ]
    return Plan(tuple((name, step) for name, wanted, step in table if wanted))


def _acts(section: Any) -> bool:
    return bool(section != type(section)())


def _settings(section: Any) -> dict[str, Any]:
    return dict(section.model_dump())


def _bands(recipe: Recipe) -> tuple[HueBand, ...]:
    return tuple(
        HueBand(band.hue, band.width, band.turn, band.scale, band.lightness)
        for _, band in sorted(recipe.chroma.band.items())
    )


def _weights(recipe: Recipe) -> tuple[float, ...]:
    if recipe.mono is None:
        return FILTER_WEIGHTS["none"]
    return recipe.mono.weights or FILTER_WEIGHTS[recipe.mono.filter or "none"]


def _split(recipe: Recipe) -> dict[str, Any]:
    tones = recipe.split
    return {
        "low": (tones.low.hue, tones.low.chroma),
        "high": (tones.high.hue, tones.high.chroma),
        "pivot": tones.pivot,
        "spread": tones.spread,
    }
