"""Pictures of one exposure laid on a common grid, under a common mask."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import ceil, floor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.encodings import srgb_decode
from driftline.drift.grid import Window, by_area, linear_light, undistort
from driftline.drift.planes import halved, luminance, to_oklab
from driftline.drift.registration import SAME_PLACE, Registration, register

GRID_CELLS = 600_000
_FEWEST_CELLS = 20_000
_FINER = 1.8
_EDGE = 1e-3  # pixels
_NOTHING_ELSE = 0.999  # share of the places
_LOW, _HIGH, _DARKEST_CHANNEL = (float(v) for v in srgb_decode(np.array([0.02, 0.98, 1.5 / 255])))

_CLIP_LOW, _CLIP_HIGH = (float(v) for v in srgb_decode(np.array([1.02, 253.98]) / 255))

Light = NDArray[np.float32]
"""(3, h, w) linear sRGB."""
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


def bring_together(reference: Any, others: Sequence[Any], *, registered: bool = False) -> Views:
    """Lay a reference and one or more equally framed pictures on a common grid.

    Parameters
    ----------
    reference
        Encoded sRGB, (h, w, 3), float 0 … 1, uint8 or uint16.
    others
        Pictures of one size and field; the first is registered on the reference, the others lie as it does.
    registered
        True: all show the same field, and are not searched for shift and scale.
    """
    A = linear_light(reference, name="reference", keep=4 * GRID_CELLS)
    rest = [linear_light(other, name="edited picture", keep=4 * GRID_CELLS) for other in others]
    found = SAME_PLACE if registered else register(A, rest[0])
    if found.problem:
        return Views((), found)
    windows = [found.reference, *([found.edited] * len(rest))]
    return Views(laid_out([A, *rest], windows, found), found)


def laid_out(pictures: Sequence[Light], windows: Sequence[Window], found: Registration) -> tuple[View, ...]:
    """Average pictures over the cells of one grid, none of them sharper than another.

    Where one is much finer than the other, the grid is the coarser one's own pixels. Where they are nearly
    of one size and do not lie pixel on pixel, a cell takes two pixels of the coarsest each way, so that
    no picture keeps the detail that sampling between pixels takes from another.
    """
    parts = [w.times(p.shape[1], p.shape[2]) for p, w in zip(pictures, windows, strict=True)]
    pictures = _unbent(pictures, parts, found.k1)
    coarsest = min(parts, key=lambda part: part.height * part.width)
    if found.exact and len({p.shape for p in pictures}) == 1:
        shape = _at_most(coarsest, coarsest.height * coarsest.width)
    elif _much_finer(parts):
        parts, shape = _snapped(parts, coarsest)
    else:
        pixels = coarsest.height * coarsest.width
        shape = _at_most(coarsest, max(pixels / 4, min(pixels, _FEWEST_CELLS)))
    return tuple(View(by_area(picture, part, shape)) for picture, part in zip(pictures, parts, strict=True))


def _much_finer(parts: Sequence[Window]) -> bool:
    """Whether the first picture and the others differ so much in size that one of them can be the grid."""
    first, other = parts[0], parts[-1]
    ratios = first.height / other.height, first.width / other.width
    cells = min(first.height * first.width, other.height * other.width)
    return (min(ratios) >= _FINER or max(ratios) <= 1 / _FINER) and cells <= GRID_CELLS


def _snapped(parts: Sequence[Window], coarsest: Window) -> tuple[list[Window], tuple[int, int]]:
    """The windows moved inwards by part of a pixel, so that the coarsest starts and ends on whole pixels."""
    top, left = ceil(coarsest.top - _EDGE), ceil(coarsest.left - _EDGE)
    bottom = floor(coarsest.top + coarsest.height + _EDGE)
    right = floor(coarsest.left + coarsest.width + _EDGE)
    inner = Window(
        (top - coarsest.top) / coarsest.height,
        (left - coarsest.left) / coarsest.width,
        (bottom - top) / coarsest.height,
        (right - left) / coarsest.width,
    )
    return [part.within(inner) for part in parts], (bottom - top, right - left)


def _at_most(coarsest: Window, cells: float) -> tuple[int, int]:
    """Rows and columns of a grid of the shape of a window, of so many cells or ``GRID_CELLS``."""
    step = np.sqrt(coarsest.height * coarsest.width / min(cells, GRID_CELLS))
    return max(8, int(coarsest.height / step + 1e-6)), max(8, int(coarsest.width / step + 1e-6))


def _unbent(pictures: Sequence[Light], parts: Sequence[Window], k1: float) -> Sequence[Light]:
    """Take the distortion between the pictures out of the finer one, or half of it out of each."""
    if not k1:
        return pictures
    share = 0.5
    if _much_finer(parts):
        share = 0.0 if parts[0].height > parts[-1].height else 1.0
    first = undistort(pictures[0], -k1 * (1 - share))
    return [first, *(undistort(picture, k1 * share) for picture in pictures[1:])]


def whole_cells(mask: Mask) -> Mask:
    """Which cells of two by two places lie wholly in a mask."""
    return np.asarray(halved(mask.astype(np.float32)) == 1)


def common_mask(pictures: Sequence[View]) -> Mask:
    """Where every picture is clear of black and white."""
    return np.asarray(np.logical_and.reduce([picture.inside for picture in pictures]))
