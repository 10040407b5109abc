"""From a frame and a recipe to a picture."""

from __future__ import annotations

from functools import partial
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from driftline.arrays import CameraRGB
from driftline.colorimetry.encodings import srgb_encode
from driftline.pipeline.compiled import compile_plan, encode
from driftline.pipeline.frame import Developable, Frame
from driftline.pipeline.kept import KeptFrame
from driftline.pipeline.kernels.area import resize
from driftline.pipeline.lens import lens_of, without_lens
from driftline.pipeline.plan import Pixels, Plan, plan
from driftline.pipeline.strips import in_strips, written_in_strips
from driftline.recipe import NO_CORRECTION, Correction, Recipe
from driftline.stages.dodge import dodge
from driftline.stages.finish import RADIUS_PX, finish
from driftline.stages.gamut import Space
from driftline.stages.grain import grain
from driftline.stages.resize import fit
from driftline.stages.resize import resize as resize_plainly
from driftline.stages.turn import crop, turn

WORKING_RATIO = 2
"""A draft is developed at up to this many times the size asked for, then reduced: the curve then acts on
nearly the same detail as at full size."""


def develop(
    frame: Developable,
    recipe: Recipe,
    *,
    anchor_ev: float = 0.0,
    correction: Correction = NO_CORRECTION,
    long_edge: int | None = None,
    space: Space = "srgb",
    depth: Literal[8, 16] | None = None,
    draft: bool = False,
    reference: bool = False,
) -> NDArray[Any]:
    """Develop a frame.

    Parameters
    ----------
    frame
        What was exposed: a frame, or a kept proof of one.
    recipe
        The look.
    anchor_ev
        Where plain stands on this frame, EV; see :mod:`driftline.drift.anchoring`.
    correction
        What is put right on this frame alone: exposure, white, crop, turn, one soft dodge.
    long_edge
        Longer side of the result, in pixels; None or larger than the frame keeps its size.
    space
        ``srgb`` or ``display-p3``.
    depth
        None gives float32 in [0, 1]; 8 or 16 give uint8 or uint16.
    draft
        For measuring and previews: reduce before developing, which is many times faster and differs by
        about one 8-bit code value in the mean, by two on night frames.
    reference
        Use the plain numpy stages instead of the compiled ones.

    Returns
    -------
    NDArray
        (h, w, 3) encoded output RGB, upright.

    Raises
    ------
    FrameError
        The frame cannot be decoded.
    """
    small = long_edge is not None and max(frame.size()) > long_edge
    straight = depth == 8 and not (reference or small or correction.framed or _goes_on(recipe))
    asked: dict[str, Any] = {"anchor_ev": anchor_ev, "correction": correction, "space": space}
    if straight and isinstance(frame, Frame) and frame.by_tiles and _by_pixel(frame, recipe, correction):
        tables = compile_plan(_planned(frame, recipe, **asked))
        return frame.write_by_tiles(tables.write_8, np.uint8)
    if straight:
        camera, steps = _begun(frame, recipe, None, reference=False, **asked)
        return written_in_strips(compile_plan(steps).write_8, camera, dtype=np.uint8)
    light = develop_light(frame, recipe, long_edge=long_edge, draft=draft, reference=reference, **asked)
    return _encoded(light, depth, reference=reference)


def develop_light(
    frame: Developable,
    recipe: Recipe,
    *,
    anchor_ev: float = 0.0,
    correction: Correction = NO_CORRECTION,
    long_edge: int | None = None,
    space: Space = "srgb",
    draft: bool = False,
    reference: bool = False,
) -> Pixels:
    """As :func:`develop`, before encoding: (h, w, 3) float32 linear output RGB in [0, 1]."""
    early = long_edge * WORKING_RATIO if draft and long_edge else None
    camera, steps = _begun(
        frame, recipe, early, anchor_ev=anchor_ev, correction=correction, space=space, reference=reference
    )
    linear = (
        in_strips(steps.run, camera) if reference else written_in_strips(compile_plan(steps).write, camera)
    )
    linear = finish(linear, acutance=recipe.finish.acutance, radius_px=_edge_px(frame, camera))
    if correction.framed:
        linear = turn(crop(linear, **correction.crop._asdict()), degrees=correction.turn)
    whole = (linear.shape[0], linear.shape[1]) if correction.framed else frame.size()
    height, width = fit(whole[0], whole[1], long_edge)
    linear = (resize_plainly if reference else resize)(linear, height=height, width=width)
    return grain(
        linear,
        rms_granularity=recipe.grain.rms_granularity,
        pitch_um=recipe.grain.pitch_um,
        seed=int(frame.fingerprint()[:16], 16) if recipe.grain.rms_granularity else 0,
    )


def sampled_light(
    frame: Developable, recipe: Recipe, *, anchor_ev: float, long_edge: int, every: int
) -> Pixels:
    """Evenly spread pixels of a draft, before encoding, in no time: (h, w, 3) float32 linear output RGB.

    Parameters
    ----------
    frame, recipe, anchor_ev
        As for :func:`develop`; only what treats each pixel by itself is done.
    long_edge
        Of the draft.
    every
        Pixels from one to the next, along rows and down columns.
    """
    camera = frame.developable(long_edge=long_edge * WORKING_RATIO)[::every, ::every]
    steps = _planned(frame, recipe, anchor_ev=anchor_ev, correction=NO_CORRECTION, space="srgb")
    return compile_plan(steps).run(camera)


def _begun(
    frame: Developable,
    recipe: Recipe,
    early: int | None,
    *,
    anchor_ev: float,
    correction: Correction,
    space: Space,
    reference: bool,
) -> tuple[CameraRGB, Plan]:
    """Camera RGB without what the lens did, with the correction's dodge in it; and what comes next."""
    camera = frame.developable(chroma_noise=recipe.noise.chroma, long_edge=early)
    camera = without_lens(frame, camera, reference=reference)
    if correction.dodge:
        camera = dodge(camera, **correction.dodge._asdict())
    return camera, _planned(frame, recipe, anchor_ev=anchor_ev, correction=correction, space=space)


def _planned(
    frame: Developable, recipe: Recipe, *, anchor_ev: float, correction: Correction, space: Space
) -> Plan:
    return plan(
        recipe,
        camera_to_srgb=frame.camera_to_srgb,
        light=frame.light(),
        anchor_ev=anchor_ev,
        correction=correction,
        likeness=frame.likeness,
        space=space,
    )


def _edge_px(frame: Developable, camera: CameraRGB) -> float:
    """The blur of acutance, as wide in the picture as at full size: the pixels of a draft are larger."""
    full = frame.full_edge if isinstance(frame, KeptFrame) else max(frame.size())
    return RADIUS_PX * min(1.0, float(max(camera.shape[:2]) / full))


def _by_pixel(frame: Frame, recipe: Recipe, correction: Correction) -> bool:
    """Whether nothing before the per-pixel stages looks around: not the noise, not the lens, no dodge."""
    return not (recipe.noise.chroma or correction.dodge or lens_of(frame))


def _goes_on(recipe: Recipe) -> bool:
    """Whether a recipe asks for more than what treats each pixel by itself."""
    return bool(recipe.finish.acutance or recipe.grain.rms_granularity)


def _encoded(linear: Pixels, depth: Literal[8, 16] | None, *, reference: bool) -> NDArray[Any]:
    if reference:
        return quantise(in_strips(srgb_encode, linear), depth)
    if depth == 8:
        return in_strips(partial(encode, eight_bits=True), linear, dtype=np.uint8)
    return quantise(in_strips(partial(encode, eight_bits=False), linear), depth)


def quantise(encoded: NDArray[np.float32], depth: Literal[8, 16] | None) -> NDArray[Any]:
    """Round 0 … 1 to 8 or 16 bits; None leaves float32.

    Examples
    --------
    >>> quantise(np.float32([0, 0.5, 1]), 8).tolist()
    [0, 128, 255]
    """
    if depth is None:
        return encoded
    top, dtype = (255, np.uint8) if depth == 8 else (65535, np.uint16)
    return np.asarray(encoded * np.float32(top) + np.float32(0.5)).astype(dtype)
