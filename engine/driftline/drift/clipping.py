"""Clipping: how much more of a picture is clipped than of another, and where."""

from __future__ import annotations

import numpy as np

from driftline.drift.views import View

_MOSTLY = 0.4
_PLACES = (
    ("the upper left", "the top", "the upper right"),
    ("the left", "the middle", "the right"),
    ("the lower left", "the bottom", "the lower right"),
)


def newly_clipped(A: View, B: View) -> dict[str, float]:
    """Percentage points of the picture clipped in B beyond those in A; negative when fewer are."""
    return {
        key: 100 * float(B.clipped_cells[key].mean() - A.clipped_cells[key].mean()) for key in A.clipped_cells
    }


def mostly_where(A: View, B: View) -> dict[str, str]:
    """In which ninth of the picture most of the newly clipped places lie; absent when they are spread."""
    found = {}
    for key, old in A.clipped_cells.items():
        rows, columns = np.nonzero(B.clipped_cells[key] & ~old)
        if len(rows):
            ninths = 3 * (3 * rows // old.shape[0]) + 3 * columns // old.shape[1]
            counts = np.bincount(ninths, minlength=9)
            ninth = int(counts.argmax())
            if counts[ninth] >= _MOSTLY * len(rows):
                found[key] = _PLACES[ninth // 3][ninth % 3]
    return found
