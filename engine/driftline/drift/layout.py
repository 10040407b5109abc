"""How pictures are averaged over the cells of one grid, so that none is sharper than another.

Where one is much finer than the other, the grid is the coarser one's own pixels. Where they are nearly of one
size and do not lie pixel on pixel, a cell takes two pixels of the coarser each way, so that neither keeps the
detail that sampling between pixels takes from the other.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, sqrt

from driftline.drift.grid import Light, Window, by_area, undistort
from driftline.drift.registration import Registration

GRID_CELLS = 600_000
_FEWEST_CELLS = 20_000
_FINER = 1.8
_EDGE = 1e-3  # pixels


@dataclass(frozen=True)
class Layout:
    """The grid, and the part of a reference and of the pictures that lie on it as one does.

    Attributes
    ----------
    shape
        Rows and columns.
    first_part, other_part
        In pixels of the picture.
    first_k1, other_k1
        Distortion to take out of it.
    """

    shape: tuple[int, int]
    first_part: Window
    other_part: Window
    first_k1: float
    other_k1: float

    def lay_first(self, picture: Light) -> Light:
        """The reference on the grid."""
        return by_area(undistort(picture, self.first_k1), self.first_part, self.shape)

    def lay_other(self, picture: Light) -> Light:
        """Another picture on the grid."""
        return by_area(undistort(picture, self.other_k1), self.other_part, self.shape)


def layout_of(first: Light, other: Light, found: Registration) -> Layout:
    """The grid for a reference and pictures that lie on it as ``found`` says."""
    a, b = found.reference.times(*first.shape[1:]), found.edited.times(*other.shape[1:])
    coarser = min(a, b, key=lambda part: part.height * part.width)
    pixels = coarser.height * coarser.width
    share = 0.5  # of the distortion, taken out of the others
    if found.exact and first.shape == other.shape:
        shape = _at_most(coarser, pixels)
    elif _much_finer(a, b) and pixels <= GRID_CELLS:
        share = 0.0 if coarser is b else 1.0
        a, b, shape = _snapped(a, b, coarser)
    else:
        shape = _at_most(coarser, max(pixels / 4, min(pixels, _FEWEST_CELLS)))
    return Layout(shape, a, b, -found.k1 * (1 - share), found.k1 * share)


def _much_finer(a: Window, b: Window) -> bool:
    """Whether two parts differ so much in size that one of them can be the grid."""
    ratios = a.height / b.height, a.width / b.width
    return min(ratios) >= _FINER or max(ratios) <= 1 / _FINER


def _snapped(a: Window, b: Window, coarser: Window) -> tuple[Window, Window, tuple[int, int]]:
    """The parts moved inwards by part of a pixel, so that the coarser starts and ends on whole pixels."""
    top, left = ceil(coarser.top - _EDGE), ceil(coarser.left - _EDGE)
    bottom = floor(coarser.top + coarser.height + _EDGE)
    right = floor(coarser.left + coarser.width + _EDGE)
    inner = Window(
        (top - coarser.top) / coarser.height,
        (left - coarser.left) / coarser.width,
        (bottom - top) / coarser.height,
        (right - left) / coarser.width,
    )
    return a.within(inner), b.within(inner), (bottom - top, right - left)


def _at_most(part: Window, cells: float) -> tuple[int, int]:
    """Rows and columns of a grid of the shape of a part, of so many cells or ``GRID_CELLS``."""
    step = sqrt(part.height * part.width / min(cells, GRID_CELLS))
    return max(8, int(part.height / step + 1e-6)), max(8, int(part.width / step + 1e-6))
