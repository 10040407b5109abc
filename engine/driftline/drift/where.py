"""Where and how two pictures differ: one mark for each square that differs by more than is noticed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.drift.verdict import DEFAULT_BANDS
from driftline.drift.views import View

SQUARES = 26  # along the longer edge
NOTICED_EV = DEFAULT_BANDS["exposure"].notice
NOTICED_OKLAB = 0.010  # a shift of Oklab a, b that costs about ΔE00 2
_NEUTRAL = 0.02  # Oklab C below which a shift is a tint and not more or less colour
_CLIPPED_SHARE = 0.25
_FIRST = 1e-3  # by which clipping goes before whatever else a square does

LIGHTER, DARKER, MORE_COLOUR, LESS_COLOUR, OTHER_HUE, CLIPPED = range(6)
NAMES = ("lighter", "darker", "more colour", "less colour", "another hue", "newly clipped")
"""What each kind of mark says, in the order of their numbers."""


@dataclass(frozen=True)
class Marks:
    """What differs most in each square.

    Attributes
    ----------
    kind
        (rows, columns) one of ``LIGHTER`` … ``CLIPPED``.
    ratio
        (rows, columns) how much, in notice bands; below 1 nobody would notice.
    """

    kind: NDArray[np.int8]
    ratio: NDArray[np.float32]


def marks(A: View, B: View) -> Marks:
    """What differs most between two pictures in each square, and by how much of what is noticed."""
    edge = square_edge(*A.rgb.shape[-2:])
    lab_A, lab_B = _means(A.lab, edge), _means(B.lab, edge)
    ev = 3 * np.log2(np.maximum(lab_B[0], 0.02) / np.maximum(lab_A[0], 0.02))
    moved = (lab_B[1:] - lab_A[1:] * (lab_B[0] / np.maximum(lab_A[0], 0.02))) / NOTICED_OKLAB
    direction = lab_A[1:] / np.maximum(np.hypot(*lab_A[1:]), 1e-6)
    along = (moved * direction).sum(axis=0) * (np.hypot(*lab_A[1:]) > _NEUTRAL)
    across = np.sqrt(np.maximum((moved * moved).sum(axis=0) - along * along, 0))
    newly = np.maximum(B.clipped["clip_high"], B.clipped["clip_low"]) & ~(
        A.clipped["clip_high"] | A.clipped["clip_low"]
    )
    clipped = _means(newly[None].astype(np.float32), edge)[0] / _CLIPPED_SHARE
    amounts = np.stack([ev / NOTICED_EV, -ev / NOTICED_EV, along, -along, across, clipped])
    amounts[CLIPPED] = np.where(clipped >= 1, np.maximum(clipped, amounts.max(axis=0) + _FIRST), 0)
    return Marks(amounts.argmax(axis=0).astype(np.int8), amounts.max(axis=0).astype(np.float32))


def square_edge(rows: int, columns: int) -> int:
    """The edge of a square on a grid of this shape, in cells."""
    return max(4, round(max(rows, columns) / SQUARES))


def _means(planes: NDArray[np.float32], edge: int) -> NDArray[Any]:
    """Mean of each whole square."""
    rows, columns = planes.shape[-2] // edge, planes.shape[-1] // edge
    squares = planes[..., : rows * edge, : columns * edge]
    return np.asarray(squares.reshape(len(planes), rows, edge, columns, edge).mean(axis=(2, 4)))
