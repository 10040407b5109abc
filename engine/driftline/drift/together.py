"""Pictures on one grid under one mask, and what is asked of each of them only once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.drift.detail import band_contrasts
from driftline.drift.places import Places
from driftline.drift.views import Mask, View, whole_cells

SAMPLES, FEW_SAMPLES = 40_000, 20_000
FEWEST_BLOCKS, MOST_BLOCKS = 3000, 20_000


@dataclass(frozen=True, eq=False)
class Together:
    """Two or more pictures, compared at the same places.

    Attributes
    ----------
    views
        The pictures.
    mask
        Where all of them are clear of black and white; it may leave out more than that.
    at_most
        How many cells are looked at.
    """

    views: tuple[View, ...]
    mask: Mask
    at_most: int = SAMPLES

    @cached_property
    def share(self) -> float:
        """Share of the grid that is compared, 0 … 1."""
        return float(self.mask.mean())

    @cached_property
    def _which(self) -> NDArray[np.intp]:
        cells = np.flatnonzero(whole_cells(self.mask))
        return cells[:: max(1, -(-len(cells) // self.at_most))]

    @cached_property
    def cells(self) -> tuple[Places, ...]:
        """Of each picture the same evenly spread cells.

        A cell is the mean of two by two places in Oklab: that takes out most of what JPEG encoding does to
        colour, and a change of exposure, chroma or hue does to the mean what it does to each place.
        """
        return tuple(_at(view.cells, self._which) for view in self.views)

    @cached_property
    def blocks(self) -> tuple[Places, ...]:
        """Of each picture the same evenly spread blocks of four by four places.

        They are for colour: half of a JPEG's chroma is not there at the size of a cell.
        """
        blocks = np.flatnonzero(whole_cells(whole_cells(self.mask)))
        if len(blocks) < FEWEST_BLOCKS:
            return self.cells
        blocks = blocks[:: max(1, -(-len(blocks) // MOST_BLOCKS))]
        return tuple(_at(view.blocks, blocks) for view in self.views)

    @cached_property
    def details(self) -> Mapping[str, tuple[Any, ...]]:
        """Band contrast of each picture, by cause."""
        return band_contrasts([view.lab[0] for view in self.views], self.mask)


def _at(lab: NDArray[Any], places: NDArray[np.intp]) -> Places:
    return Places(lab.reshape(3, -1)[:, places].astype(np.float64))
