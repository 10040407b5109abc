"""Pictures of one exposure laid on a common grid, under a common mask."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.encodings import srgb_decode
from driftline.drift.grid import Window, by_area, linear_light, undistort
from driftline.drift.registration import SAME_PLACE, Registration, register

GRID_CELLS = 600_000
_FEWEST_CELLS = 20_000
LOW, HIGH = (float(v) for v in srgb_decode(np.array([0.02, 0.98])))

View = NDArray[np.float32]
Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Views:
    """Pictures on one grid: linear sRGB, (h, w, 3) float32 each; none when they do not lie on each other."""

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


def laid_out(pictures: Sequence[View], windows: Sequence[Window], found: Registration) -> tuple[View, ...]:
    """Average pictures over the cells of one grid, none of them sharper than another."""
    parts = [w.times(p.shape[0], p.shape[1]) for p, w in zip(pictures, windows, strict=True)]
    shape = _grid_shape(parts, exact=found.exact and len({p.shape for p in pictures}) == 1)
    views = [by_area(picture, part, shape) for picture, part in zip(pictures, parts, strict=True)]
    if found.k1:
        views = [undistort(v, found.k1 / 2 if i else -found.k1 / 2) for i, v in enumerate(views)]
    return tuple(views)


def _grid_shape(parts: Sequence[Window], *, exact: bool) -> tuple[int, int]:
    """Rows and columns: two pixels of the coarsest picture a cell, unless the pictures lie pixel on pixel."""
    fewest = min(parts, key=lambda part: part.height * part.width)
    pixels = fewest.height * fewest.width
    wanted = pixels if exact else max(pixels / 4, min(pixels, _FEWEST_CELLS))
    step = np.sqrt(pixels / min(wanted, GRID_CELLS))
    return max(8, int(fewest.height / step + 1e-6)), max(8, int(fewest.width / step + 1e-6))


def common_mask(pictures: Sequence[View]) -> Mask:
    """Where every channel of every picture lies within 2 … 98 % of the encoded range."""
    inside = [((p > LOW) & (p < HIGH)).all(axis=-1) for p in pictures]
    return np.asarray(np.logical_and.reduce(inside))
