"""Pairs: the same places as the sensor saw them and as the camera rendered them, for learning a likeness."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.colorimetry.oklab import rec2020_to_oklab
from driftline.colorimetry.primaries import SRGB_TO_REC2020
from driftline.drift.anchoring import Anchor, anchor
from driftline.drift.lenses import Falloffs, Optics
from driftline.drift.planes import luminance
from driftline.drift.views import Mask, View
from driftline.frames.opcodes import stated_lens
from driftline.pipeline import Developable, Frame
from driftline.pipeline.lens import taken_with
from driftline.pipeline.plan import plan
from driftline.recipe import NEUTRAL
from driftline.stages.resize import resize

AT_MOST = 3000
"""Places taken of one frame: enough, and no frame outweighs another by its size alone."""
_SMOOTHEST = 0.6
_RAW_RANGE = (0.002, 0.92)
_GREY = 0.01

NO_OPTICS = Optics()

Samples = NDArray[np.float64]


@dataclass(frozen=True)
class Pair:
    """Samples of one frame: linear Rec. 2020, (n, 3) each.

    Attributes
    ----------
    scene
        What the sensor saw, scene-linear, with the frame's anchor in it.
    shown
        What the camera made of it, display-linear.
    optics
        The lens.
    r2
        (n,) squared distance from the middle at which the sensor saw each place, 1 at the corner; absent: 0.
    """

    name: str
    scene: Samples
    shown: Samples
    optics: Optics = NO_OPTICS
    r2: NDArray[np.float64] | None = None

    @property
    def radii(self) -> NDArray[np.float64]:
        """``r2``, or zeros."""
        return np.zeros(len(self.scene)) if self.r2 is None else self.r2

    def through(self, fallen: Falloffs) -> Pair:
        """The same pair with the falloff of its lens undone."""
        ev = fallen.get(self.optics.key, 0.0) if self.optics.stated is None else 0.0
        return replace(self, scene=self.scene * np.exp2(ev * self.radii)[:, None]) if ev else self


def pair_of(frame: Developable, name: str) -> tuple[Pair | None, str]:
    """The pair of a frame, or None and why there is none.

    Clipped and nearly black places, and places where the picture changes fast (there a small misregistration
    counts most), are left out.

    Raises
    ------
    FrameError
        The frame cannot be decoded.
    """
    known = anchor(frame)
    if known.camera is None or known.registration.problem:
        return None, known.reason or known.registration.problem
    camera, scene = known.views[0], known.view_of(_scene(frame, known.plain.shape))
    usable = camera.inside & _within(scene) & _smooth(camera)
    places = np.flatnonzero(usable)
    if len(places) < 500:
        return None, "hardly any place is smooth and clear of black and white"
    places = places[:: max(1, len(places) // AT_MOST)]
    shown = _at(camera, places) @ SRGB_TO_REC2020.T
    lab = rec2020_to_oklab(shown)
    if np.quantile(np.hypot(lab[:, 1], lab[:, 2]), 0.99) < _GREY:
        return None, "the camera rendering is black and white"
    optics, r2 = _optics(frame, known), _radii(known)[places]
    seen = _at(scene, places) * np.exp2(known.ev + _stated_ev(optics, r2))[:, None]
    return Pair(name, seen, np.maximum(shown, 1e-6), optics, r2), ""


def _optics(frame: Developable, known: Anchor) -> Optics:
    name, focal_mm = taken_with(frame)
    stated = stated_lens(frame.path) if isinstance(frame, Frame) else None
    return Optics(name, focal_mm, known.registration.k1, stated)


def _stated_ev(optics: Optics, r2: NDArray[np.float64]) -> NDArray[np.float64]:
    """EV that the raw file says each place lost."""
    terms = optics.stated.falloff_ev if optics.stated else ()
    lost = np.zeros_like(r2)
    for n, term in enumerate(terms):
        lost += term * r2 ** (n + 1)
    return lost


def _radii(known: Anchor) -> NDArray[np.float64]:
    """(places,) squared distance from the middle of the sensor's picture, 1 at its corner."""
    layout, (_, h, w) = known.layout, known.plain.shape
    part, (rows, columns) = layout.other_part, layout.shape
    y = part.top + (np.arange(rows)[:, None] + 0.5) * part.height / rows - h / 2
    x = part.left + (np.arange(columns)[None, :] + 0.5) * part.width / columns - w / 2
    r2 = (y * y + x * x) / ((h * h + w * w) / 4)
    return np.asarray(r2 * (1 + layout.other_k1 * r2) ** 2).ravel()


def _scene(frame: Developable, shape: tuple[int, ...]) -> NDArray[np.float32]:
    """(3, h, w) scene-linear Rec. 2020 as metered, without any likeness."""
    rgb = resize(frame.developable(long_edge=2 * max(shape[1:])), height=shape[1], width=shape[2])
    matrix = plan(NEUTRAL, camera_to_srgb=frame.camera_to_srgb, light=frame.light()).matrix
    return np.ascontiguousarray(np.moveaxis(rgb @ matrix.T.astype(np.float32), -1, 0))


def _within(scene: View) -> Mask:
    low, high = _RAW_RANGE
    return np.asarray(
        (scene.rgb.min(axis=0) > low / 20) & (luminance(scene.rgb) > low) & (scene.rgb.max(axis=0) < high)
    )


def _smooth(camera: View) -> Mask:
    log_light = np.log2(np.maximum(luminance(camera.rgb), 1e-4))
    down, right = np.gradient(log_light)
    change = np.hypot(down, right)
    return np.asarray(change <= np.quantile(change, _SMOOTHEST))


def _at(view: View, places: NDArray[Any]) -> Samples:
    return view.rgb.reshape(3, -1)[:, places].T.astype(np.float64)
