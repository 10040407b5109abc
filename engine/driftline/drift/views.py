"""Pictures of one exposure laid on a common grid, under a common mask."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.encodings import srgb_decode
from driftline.drift.grid import Light, linear_light
from driftline.drift.layout import GRID_CELLS, layout_of
from driftline.drift.planes import halved, luminance, to_oklab
from driftline.drift.registration import SAME_PLACE, Registration, register

_NOTHING_ELSE = 0.999  # share of the places
_LOW, _HIGH, _DARKEST_CHANNEL = (float(v) for v in srgb_decode(np.array([0.02, 0.98, 1.5 / 255])))

_CLIP_LOW, _CLIP_HIGH = (float(v) for v in srgb_decode(np.array([1.02, 253.98]) / 255))
_BLACK, _WHITE = (float(v) for v in srgb_decode(np.array([3.5, 252.5]) / 255))

Mask = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class View:
    """One picture on the grid, and what is asked of it more than once."""

    rgb: Light

    @cached_property
    def lab(self) -> Light:
        """(3, h, w) Oklab."""
        return to_oklab(self.rgb)

    @cached_property
    def cells(self) -> Light:
        """(3, h // 2, w // 2) Oklab, the mean of two by two places."""
        return halved(self.lab)

    @cached_property
    def _ends(self) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
        r, g, b = self.rgb
        return np.minimum(np.minimum(r, g), b), np.maximum(np.maximum(r, g), b)

    @cached_property
    def inside(self) -> Mask:
        """Where a picture is clear of black and white.

        No channel above 98 % of the encoded range, luminance above 2 %, and no channel at 0 or 1 of 255:
        there colour is cut off. (To ask 2 % of every channel leaves out most of a street under tungsten.)
        """
        lowest, highest = self._ends
        return np.asarray((lowest > _DARKEST_CHANNEL) & (highest < _HIGH) & (luminance(self.rgb) > _LOW))

    @cached_property
    def clipped(self) -> dict[str, Mask]:
        """Where all channels are at 1 of 255 or less, or any at 254 or more."""
        highest = self._ends[1]
        return {"clip_low": highest <= _CLIP_LOW, "clip_high": highest >= _CLIP_HIGH}

    @cached_property
    def clipped_cells(self) -> dict[str, Mask]:
        """The same of cells of two by two places, with room for what JPEG encoding does to black and white.

        It lifts black (in one photograph two thirds of what was 0 comes back as 2 or 3) and strews 255 along
        edges: place by place that reads up to 2.6 points where nothing was edited, cell by cell 0.7 at most.
        """
        highest = halved(self.rgb).max(axis=0)
        return {"clip_low": highest <= _BLACK, "clip_high": highest >= _WHITE}

    @cached_property
    def blocks(self) -> Light:
        """(3, h // 4, w // 4) Oklab, the mean of four by four places."""
        return halved(self.cells)

    @cached_property
    def empty(self) -> str:
        """``black`` or ``white`` when the picture is nothing else; else empty."""
        lowest, highest = self._ends
        if (highest < _LOW).mean() > _NOTHING_ELSE:
            return "black"
        return "white" if (lowest > _HIGH).mean() > _NOTHING_ELSE else ""


@dataclass(frozen=True)
class Views:
    """Pictures on one grid; none when they do not lie on each other."""

    pictures: tuple[View, ...]
    registration: Registration


def bring_together(reference: Any, edited: Any, *, registered: bool = False) -> Views:
    """Lay a reference and an edited picture on a common grid.

    Parameters
    ----------
    reference, edited
        Encoded sRGB, (h, w, 3), float 0 … 1, uint8 or uint16, of any two sizes.
    registered
        True: both show the same field, and are not searched for shift and scale.
    """
    A = linear_light(reference, name="reference", keep=4 * GRID_CELLS)
    B = linear_light(edited, name="edited picture", keep=4 * GRID_CELLS)
    found = SAME_PLACE if registered else register(A, B)
    return Views(() if found.problem else laid_out([A, B], found), found)


def laid_out(pictures: Sequence[Light], found: Registration) -> tuple[View, ...]:
    """Average pictures over the cells of one grid: a reference, then others of one size that lie alike."""
    layout = layout_of(pictures[0], pictures[1], found)
    others = (View(layout.lay_other(picture)) for picture in pictures[1:])
    return View(layout.lay_first(pictures[0])), *others


def whole_cells(mask: Mask) -> Mask:
    """Which cells of two by two places lie wholly in a mask."""
    return np.asarray(halved(mask.astype(np.float32)) == 1)


def common_mask(pictures: Sequence[View]) -> Mask:
    """Where every picture is clear of black and white."""
    return np.asarray(np.logical_and.reduce([picture.inside for picture in pictures]))
