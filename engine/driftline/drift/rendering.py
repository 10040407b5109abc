"""Rendering a frame with a recipe: developing it from where its own camera rendering put it."""

from __future__ import annotations

from typing import Any, Literal

from numpy.typing import NDArray

from driftline.drift.anchoring import anchor_ev
from driftline.pipeline import Developable, develop
from driftline.recipe import Recipe


def render(
    frame: Developable,
    recipe: Recipe,
    *,
    long_edge: int | None = None,
    depth: Literal[8, 16] | None = None,
    space: Literal["srgb", "display-p3"] = "srgb",
) -> NDArray[Any]:
    """Develop a frame, anchored as the recipe asks.

    Parameters
    ----------
    frame
        From :func:`driftline.open_frame`, or a kept proof.
    recipe
        The look. With ``exposure.anchor`` ``camera`` it starts where the camera rendering put middle grey;
        with ``metered`` as exposed.
    long_edge
        Longer side of the result in pixels; None keeps the frame's size.
    depth
        None gives float32 in [0, 1]; 8 or 16 give uint8 or uint16.
    space
        ``srgb`` or ``display-p3``.

    Returns
    -------
    NDArray
        (h, w, 3) encoded, upright.

    Raises
    ------
    FrameError
        The frame cannot be decoded.
    """
    ev = recipe_anchor_ev(frame, recipe)
    return develop(frame, recipe, anchor_ev=ev, long_edge=long_edge, depth=depth, space=space)


def recipe_anchor_ev(frame: Developable, recipe: Recipe) -> float:
    """The gain from which a recipe starts on a frame, EV: plain's, or 0 as metered."""
    return anchor_ev(frame) if recipe.exposure.anchor == "camera" else 0.0
