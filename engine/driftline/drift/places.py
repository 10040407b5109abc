"""One picture at the places where it is compared, and what is asked of it by more than one estimator."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.drift.planes import Planes, from_oklab, luminance


@dataclass(frozen=True, eq=False)
class Lights:
    """Linear sRGB at some places.

    Attributes
    ----------
    rgb
        (3, n).
    """

    rgb: Planes

    @cached_property
    def luminance(self) -> NDArray[Any]:
        """Relative luminance of each place."""
        return luminance(self.rgb)

    @cached_property
    def ordered(self) -> NDArray[np.float32]:
        """Luminance from the darkest place to the lightest; float32, which is sorted in half the time."""
        return np.sort(self.luminance.astype(np.float32))

    def at_most(self, count: int) -> Lights:
        """Evenly spread ones of them."""
        every = -(-self.rgb.shape[1] // count)
        return self if every <= 1 else Lights(self.rgb[:, ::every])


@dataclass(frozen=True, eq=False)
class Places:
    """Some places of a picture.

    Attributes
    ----------
    lab
        (3, n) Oklab.
    """

    lab: Planes

    @cached_property
    def lights(self) -> Lights:
        """The same in linear sRGB."""
        return Lights(from_oklab(self.lab))

    @cached_property
    def greys(self) -> Lights:
        """Without their colour: the grey of the same lightness."""
        return Lights(np.repeat(self.lab[:1] ** 3, 3, axis=0))

    @cached_property
    def contrast(self) -> float:
        """Standard deviation of lightness."""
        return float(np.std(self.lab[0]))

    @cached_property
    def most_chroma(self) -> float:
        """The Oklab C that one place in a hundred goes beyond."""
        return float(np.quantile(np.hypot(self.lab[1], self.lab[2]), 0.99))
