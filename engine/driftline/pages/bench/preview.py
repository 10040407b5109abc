"""Pictures for the screen: developed small, encoded fast."""

from __future__ import annotations

import io
from typing import Any

from numpy.typing import NDArray

from driftline.drift.rendering import recipe_anchor_ev
from driftline.pages.bench.proof import PREVIEW_EDGE, BenchProof
from driftline.pipeline import develop
from driftline.recipe import Recipe

SMALL_EDGE = 420
_QUALITY = 88


def picture(proof: BenchProof, recipe: Recipe, *, edge: int = PREVIEW_EDGE) -> bytes:
    """A recipe's rendering of a proof as JPEG, no larger than 1500 px.

    Raises
    ------
    FrameError
        The frame cannot be decoded.
    """
    ev = recipe_anchor_ev(proof, recipe)
    whole = edge >= PREVIEW_EDGE
    pixels = develop(proof, recipe, anchor_ev=ev, depth=8, long_edge=None if whole else edge, draft=not whole)
    return _jpeg(pixels)


def camera_picture(proof: BenchProof) -> bytes | None:
    """The camera rendering as JPEG, at the size of the preview; None if there is none.

    Raises
    ------
    FrameError
        The frame cannot be decoded.
    """
    rendering = proof.camera_rendering()
    return None if rendering is None else _jpeg((rendering * 255 + 0.5).astype("uint8"))


def _jpeg(pixels: NDArray[Any]) -> bytes:
    from PIL import Image  # noqa: PLC0415  loaded where it is needed

    file = io.BytesIO()
    image = Image.fromarray(pixels)
    image.thumbnail((PREVIEW_EDGE, PREVIEW_EDGE))
    image.save(file, "jpeg", quality=_QUALITY)
    return file.getvalue()
