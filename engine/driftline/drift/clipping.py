"""Clipping: how much more of a picture is clipped than of another, and where."""

from __future__ import annotations

import numpy as np

from driftline.colorimetry.encodings import srgb_decode
from driftline.drift.views import Mask, View

_LOW, _HIGH = (float(v) for v in srgb_decode(np.array([1.02, 253.98]) / 255))
_MOSTLY = 0.4
_PLACES = (
    ("the upper left", "the top", "the upper right"),
    ("the left", "the middle", "the right"),
    ("the lower left", "the bottom", "the lower right"),
)


def clipped(view: View) -> dict[str, Mask]:
    """Where a picture is clipped: all channels at 1 of 255 or less, or any at 254 or more."""
    low, high = (view <= _LOW).all(axis=-1), (view >= _HIGH).any(axis=-1)
    return {"clip_low": np.asarray(low), "clip_high": np.asarray(high)}


def newly_clipped(A: View, B: View) -> dict[str, float]:
    """Percentage points of the picture clipped in B beyond those in A; negative when fewer are."""
    before, after = clipped(A), clipped(B)
    return {key: 100 * float(after[key].mean() - before[key].mean()) for key in before}


def mostly_where(A: View, B: View) -> dict[str, str]:
    """In which ninth of the picture most of the newly clipped places lie; absent when they are spread."""
    before, after = clipped(A), clipped(B)
    found = {}
    for key, old in before.items():
        rows, columns = np.nonzero(after[key] & ~old)
        if len(rows):
            ninths = 3 * (3 * rows // A.shape[0]) + 3 * columns // A.shape[1]
            counts = np.bincount(ninths, minlength=9)
            ninth = int(counts.argmax())
            if counts[ninth] >= _MOSTLY * len(rows):
                found[key] = _PLACES[ninth // 3][ninth % 3]
    return found
