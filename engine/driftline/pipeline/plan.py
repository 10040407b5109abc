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
from driftline.recipe import NO_CORRECTION, TONE_STOPS, Correction, Curve, Likeness, Recipe, Split
from driftline.stages.chroma import HueBand, Response, chroma
from driftline.stages.curve import curve
from driftline.stages.exposure import exposure
from driftline.stages.gamut import Space, gamut
from driftline.stages.mono import FILTER_WEIGHTS, mono
from driftline.stages.split import split
from driftline.stages.standing import Tone, standing
from driftline.stages.white import white, white_matrix

EDITION = 4
"""Raised by every change that alters pixels; a print names it."""

Pixels: TypeAlias = NDArray[np.float32]
Step: TypeAlias = tuple[str, Callable[[Pixels], Pixels]]


@dataclass(frozen=True)
class Plan:
    """What happens to each pixel by itself: settings, from which reference and kernel are both made.

    A section at its defaults is None here and costs nothing.
    """

    matrix: Matrix
    ev: float
    curve: Curve | None
    scale: float
    bands: tuple[HueBand, ...]
    weights: tuple[float, ...] | None
    split: Split | None
    space: Space
    tone: Tone | None = None
    response: Response | None = None

    @property
    def acts_by_hue(self) -> bool:
        """Whether colours are treated by their hue."""
        return bool(self.bands) or self.response is not None

    def steps(self) -> tuple[Step, ...]:
        """The stages in order, as plain numpy functions: the reference."""
        table: list[tuple[str, bool, Callable[[Any], Any]]] = [
            ("white", True, partial(white, matrix=self.matrix)),
            ("exposure", self.ev != 0, partial(exposure, ev=self.ev)),
            ("curve", self.curve is not None, partial(curve, **curve_settings(self.curve))),
            ("standing", True, partial(standing, tone=self.tone)),
            ("oklab", True, rec2020_to_oklab),
            (
                "chroma",
                self.scale != 1 or self.acts_by_hue,
                partial(chroma, scale=self.scale, bands=self.bands, response=self.response),
            ),
            ("mono", self.weights is not None, partial(mono, weights=self.weights or ())),
            ("split", self.split is not None, partial(split, **split_settings(self.split))),
            ("gamut", True, partial(gamut, space=self.space)),
        ]
        return tuple((name, step) for name, wanted, step in table if wanted)

    def run(self, rgb: Pixels) -> Pixels:
        """Balanced camera RGB (..., 3) to linear output RGB in [0, 1], by the reference."""
        for _, step in self.steps():
            rgb = step(rgb)
        return rgb


def plan(
    recipe: Recipe,
    *,
    camera_to_srgb: Matrix,
    light: tuple[float, float],
    anchor_ev: float = 0.0,
    correction: Correction = NO_CORRECTION,
    likeness: Likeness | None = None,
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
    correction
        The frame's own exposure and white come on top of the look's.
    likeness
        How the camera renders, as learned; None: the default curve and nothing else.
    space
        Output space.
    """
    matrix = white_matrix(
        camera_to_srgb,
        light=light,
        shift_mired=recipe.white.shift + correction.shift,
        kelvin=recipe.white.kelvin,
        shift_duv=recipe.white.duv,
    )
    tone = response = None
    if likeness is not None:
        matrix = np.reshape(likeness.matrix, (3, 3)) @ matrix
        tone = np.array(TONE_STOPS), np.array(likeness.tone)
        response = Response(likeness.turn, likeness.scale)
    bands = sorted(recipe.chroma.band.items())
    anchored = anchor_ev if recipe.exposure.anchor == "camera" else 0.0
    return Plan(
        matrix=matrix,
        ev=recipe.exposure.ev + correction.ev + anchored,
        curve=None if recipe.curve == Curve() else recipe.curve,
        scale=recipe.chroma.scale,
        bands=tuple(HueBand(b.hue, b.width, b.turn, b.scale, b.lightness) for _, b in bands),
        weights=_weights(recipe),
        split=None if recipe.split == Split() else recipe.split,
        space=space,
        tone=tone,
        response=response,
    )


def curve_settings(section: Curve | None) -> dict[str, Any]:
    """Keyword arguments of :func:`driftline.stages.curve.curve`."""
    section = section or Curve()
    return {"slope": section.slope, "toe": section.toe, "shoulder": section.shoulder}


def split_settings(section: Split | None) -> dict[str, Any]:
    """Keyword arguments of :func:`driftline.stages.split.split`."""
    section = section or Split()
    return {
        "low": (section.low.hue, section.low.chroma),
        "high": (section.high.hue, section.high.chroma),
        "pivot": section.pivot,
        "spread": section.spread,
    }


def _weights(recipe: Recipe) -> tuple[float, ...] | None:
    if recipe.mono is None:
        return None
    return recipe.mono.balanced_weights or FILTER_WEIGHTS[recipe.mono.filter or "none"]
