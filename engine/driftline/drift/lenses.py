"""What a camera takes out of each lens, learned from pairs: falloff by how light differs with the radius.

Distortion is what registration found on each pair. Falloff is the slope, against r², of how many stops
lighter the camera shows a place than the likeness so far does: the camera's curve is the same all over the
picture, so what is left with the radius is the lens. It is learned for all apertures alike. What the raw
files themselves state goes before what pairs show.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from driftline.frames.opcodes import StatedLens
from driftline.recipe import LensTerms

FEWEST = 2
"""Pairs of one lens that must show it: one alone may be a scene that is lit so."""
_LEAST_EV, _LEAST_K1 = 0.05, 0.001
_SURE = 2.0  # standard errors
_HUBER = 1.345
_ROUNDS = 6


@dataclass(frozen=True)
class Optics:
    """The lens of one pair.

    Attributes
    ----------
    name, focal_mm
        As the file says; '' and None are unknown.
    k1
        Distortion that registration found; see :class:`~driftline.drift.registration.Registration`.
    stated
        What the raw file itself states, or None.
    """

    name: str = ""
    focal_mm: float | None = None
    k1: float = 0.0
    stated: StatedLens | None = None

    @property
    def key(self) -> tuple[str, float]:
        """Which lens at which focal length; equal for pairs that are learned together."""
        return self.name, round(self.focal_mm or 0.0, 1)


Falloffs = Mapping[tuple[str, float], float]
"""EV at the corner, growing as r², by lens and focal length."""


def slope_with_radius(stops: NDArray[np.float64], r2: NDArray[np.float64]) -> float:
    """EV by which r² brightens, from how many stops lighter each place is shown; any gain is left aside."""
    if float(np.std(r2)) < 1e-3:
        return 0.0
    weight = np.ones(len(stops))
    slope = 0.0
    for _ in range(_ROUNDS):
        total = weight.sum()
        x, y = r2 - (weight * r2).sum() / total, stops - (weight * stops).sum() / total
        slope = float((weight * x * y).sum() / (weight * x * x).sum())
        miss = np.abs(y - slope * x)
        limit = _HUBER * 1.4826 * float(np.median(miss)) + 1e-9
        weight = np.minimum(1.0, limit / np.maximum(miss, 1e-12))
    return slope


def shown_by(slopes: Sequence[float], least: float) -> float:
    """The mean of what several pairs show, or 0 where they are too few, show too little or disagree."""
    mean = float(np.mean(slopes)) if slopes else 0.0
    if len(slopes) < FEWEST or abs(mean) < least:
        return 0.0
    error = float(np.std(slopes, ddof=1)) / len(slopes) ** 0.5
    return mean if abs(mean) > _SURE * error else 0.0


def falloffs(slopes: Sequence[tuple[Optics, float]]) -> Falloffs:
    """Falloff of each lens from the slope that each pair shows; a lens that states its own is left out."""
    by_lens: dict[tuple[str, float], list[float]] = {}
    for optics, slope in slopes:
        if optics.stated is None and optics.focal_mm:
            by_lens.setdefault(optics.key, []).append(slope)
    return {key: found for key, those in by_lens.items() if (found := shown_by(those, _LEAST_EV))}


def lens_terms(lenses: Sequence[Optics], fallen: Falloffs) -> dict[str, LensTerms]:
    """The terms of every lens that shows any, under keys without a meaning.

    Parameters
    ----------
    lenses
        Of each pair.
    fallen
        As :func:`falloffs` gives them.
    """
    found: dict[str, LensTerms] = {}
    for key in dict.fromkeys(optics.key for optics in lenses if optics.focal_mm):
        those = [optics for optics in lenses if optics.key == key]
        distortion, falloff, source = _terms(those, fallen.get(key, 0.0))
        if any((*distortion, *falloff)):
            found[f"lens-{len(found) + 1}"] = LensTerms(
                name=key[0],
                focal_mm=key[1],
                distortion=distortion,
                falloff_ev=falloff,
                source="file" if source else "pairs",
                pairs=len(those),
            )
    return found


def _terms(those: Sequence[Optics], fallen: float) -> tuple[tuple[float, ...], tuple[float, ...], bool]:
    """Distortion, falloff, and whether the files state them; of several statements the median."""
    stated = [optics.stated for optics in those if optics.stated is not None]
    if stated:
        distortion, falloff = (
            tuple(float(term) for term in np.median(terms, axis=0))
            for terms in ([one.distortion for one in stated], [one.falloff_ev for one in stated])
        )
        return distortion, falloff, True
    k1 = float(np.median([optics.k1 for optics in those]))
    k1 = k1 if shown_by([optics.k1 for optics in those], _LEAST_K1) else 0.0
    return (round(k1, 5), 0.0, 0.0), (round(fallen, 4), 0.0, 0.0), False
