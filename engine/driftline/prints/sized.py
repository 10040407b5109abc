"""Pixels as a print wants them: developed at its size, with the acutance that this size is given."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.encodings import srgb_decode, srgb_encode
from driftline.pipeline import Frame, develop
from driftline.pipeline.developing import quantise
from driftline.prints.provenance import Making, depth_of
from driftline.recipe import Correction, Recipe
from driftline.stages.finish import finish

_ROWS: Final = 512
_AROUND: Final = 4
"""Rows that the edge signal of a row looks at to either side, and more."""


def developed(
    frame: Frame, recipe: Recipe, making: Making, *, anchor_ev: float, correction: Correction
) -> NDArray[Any]:
    """Develop a frame for a print.

    Parameters
    ----------
    frame, recipe, correction
        As for :func:`~driftline.pipeline.developing.develop`.
    making
        Size, space, encoding and acutance of the print.
    anchor_ev
        Where plain stands on this frame.

    Returns
    -------
    NDArray
        (h, w, 3) uint8 or uint16. Acutance for the print acts on its own pixels, after the reduction that
        takes edge contrast away, so a small print gets it at its own scale; 0 changes nothing.
    """
    depth = depth_of(making)
    asked: dict[str, Any] = {
        "anchor_ev": anchor_ev,
        "correction": correction,
        "long_edge": making.long_edge,
        "space": making.space,
    }
    if not making.acutance:
        return develop(frame, recipe, **asked, depth=depth)
    encoded = develop(frame, recipe, **asked)
    print_of: NDArray[Any] = np.empty(encoded.shape, np.uint8 if depth == 8 else np.uint16)
    for top in range(0, len(encoded), _ROWS):
        start, end = max(top - _AROUND, 0), min(top + _ROWS, len(encoded))
        linear = srgb_decode(encoded[start : end + _AROUND])
        sharp = srgb_encode(finish(linear, acutance=making.acutance))
        print_of[top:end] = quantise(sharp[top - start : end - start], depth)
    return print_of
