"""Where plain stands on a frame: the gain for which it reads no exposure drift against the camera rendering.

Plain is the neutral recipe; its anchor depends on the frame alone, never on a recipe, and is found once.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import cached_property
from weakref import WeakKeyDictionary

import numpy as np

from driftline.colorimetry.primaries import SRGB_LUMINANCE
from driftline.drift.grid import Light, light_planes
from driftline.drift.layout import GRID_CELLS, Layout, layout_of
from driftline.drift.measuring import exposure_alone
from driftline.drift.planes import luminance
from driftline.drift.registration import SAME_PLACE, Registration, register
from driftline.drift.tone import fit_tone, stops
from driftline.drift.views import View, common_mask
from driftline.pipeline import Developable, Frame, develop_light
from driftline.pipeline.developing import WORKING_RATIO, sampled_light
from driftline.recipe import NEUTRAL, Recipe

MEASURING_EDGE = 1000
LIMIT_EV = 3.0
_RENDERING_EDGE = 2 * MEASURING_EDGE
_ROUNDS, _CLOSE_ENOUGH = 6, 0.004
_ONE_TONE = 0.1  # stops from the darkest to the lightest
_EVERY = 8  # pixels from one to the next of those that a first guess is made from
_ONE_STEP = 0.03  # from so near one step lands close enough: the slope is known to a tenth
_SLOPE = 1.1  # what 1 EV in the scene reads on the display (measured on the demo frames, 1.0 to 1.2)


@dataclass(frozen=True)
class Anchor:
    """What is known of a frame before any recipe.

    Attributes
    ----------
    ev
        The gain in linear light that plain takes, -3 … 3.
    reason
        Why ``ev`` is 0 for want of a camera rendering to go by; empty when it was found.
    camera, plain
        The two pictures, prepared, linear sRGB; ``camera`` is None without a usable rendering.
    registration
        How plain lies on the camera rendering.
    edge
        The long edge at which plain, and every edit of this frame, is developed for measuring.
    laid
        The two on the grid, if they have been laid there already.
    """

    ev: float
    reason: str
    camera: Light | None
    plain: Light
    registration: Registration
    edge: int
    laid: tuple[View, View] | None = None

    @cached_property
    def layout(self) -> Layout:
        """The grid on which the two, and every edit, are compared."""
        return layout_of(self.plain if self.camera is None else self.camera, self.plain, self.registration)

    @cached_property
    def views(self) -> tuple[View, View]:
        """Camera rendering (or plain without one) and plain on the grid."""
        if self.laid is not None:
            return self.laid
        first = self.plain if self.camera is None else self.camera
        return View(self.layout.lay_first(first)), View(self.layout.lay_other(self.plain))

    def view_of(self, edit: Light) -> View:
        """An edit on the grid."""
        return View(self.layout.lay_other(edit))


_found: WeakKeyDictionary[Developable, Anchor] = WeakKeyDictionary()


def anchor_ev(frame: Developable) -> float:
    """The gain in EV, within ±3, for which plain reads no exposure drift against the camera rendering.

    0 without a usable rendering; :func:`anchor` says why.

    Raises
    ------
    FrameError
        The frame cannot be decoded.
    """
    return anchor(frame).ev


def anchor(frame: Developable) -> Anchor:
    """The anchor of a frame and the pictures it was found with; kept as long as the frame is."""
    if frame not in _found:
        _found[frame] = _find(frame)
    return _found[frame]


def forget(frame: Developable) -> None:
    """Let the pictures go that a frame was measured with; asked again, they are made again."""
    _found.pop(frame, None)


def developed(frame: Developable, ev: float, edge: int, recipe: Recipe = NEUTRAL) -> Light:
    """A recipe (plain) with a gain, at measuring size, in linear light."""
    light = develop_light(frame, recipe, anchor_ev=ev, long_edge=edge, draft=True)
    return light_planes(light, keep=4 * GRID_CELLS)


def _find(frame: Developable) -> Anchor:
    if isinstance(frame, Frame):
        frame.pairing_facts()  # what the decoder says soon; behind the sensor values the rendering would wait
    with ThreadPoolExecutor(1) as beside:
        waiting = beside.submit(_camera, frame)
        # Meanwhile the sensor is decoded, and reduced to what plain is mostly developed from.
        frame.developable(long_edge=WORKING_RATIO * MEASURING_EDGE)
        found = waiting.result()
    if found is None:
        reason = f"no camera rendering: {frame.camera_rendering_reason}"
        return Anchor(0.0, reason, None, developed(frame, 0.0, MEASURING_EDGE), SAME_PLACE, MEASURING_EDGE)
    camera, edge = found
    start = _guess(frame, camera)
    plain = developed(frame, start, edge)
    placed = register(camera, plain)
    if placed.problem:
        return Anchor(0.0, placed.problem, camera, developed(frame, 0.0, edge), placed, edge)
    looks = _Looks(frame, camera, placed, edge, {start: plain})
    ev, reason = _fixed_point(looks, start)
    return Anchor(ev, reason, camera, looks.plain(ev), placed, edge, (looks.camera_view, looks.view(ev)))


def _guess(frame: Developable, camera: Light) -> float:
    """A gain near the one that is sought, from how luminance is spread over the two, wherever things lie."""
    ev, wanted = 0.0, np.sort(luminance(camera[:, ::_EVERY, ::_EVERY]), axis=None)
    for _ in range(_ROUNDS):
        light = sampled_light(frame, NEUTRAL, anchor_ev=ev, long_edge=MEASURING_EDGE, every=_EVERY)
        plain = np.sort(light @ SRGB_LUMINANCE, axis=None)
        if min(np.ptp(stops(ends)) for ends in (wanted[[0, -1]], plain[[0, -1]])) < _ONE_TONE:
            return 0.0
        reading = fit_tone(wanted, plain).exposure
        if abs(reading) < _ONE_STEP:
            break
        ev = min(max(ev - reading / _SLOPE, -LIMIT_EV), LIMIT_EV)
    return round(ev, 4)


def _camera(frame: Developable) -> tuple[Light, int] | None:
    """The camera rendering, prepared, and the long edge at which it is compared."""
    light = frame.camera_light(_RENDERING_EDGE)
    if light is None:
        return None
    return light_planes(light, keep=4 * GRID_CELLS), _edge(max(light.shape[:2]))


def _edge(rendering_edge: int) -> int:
    """Half the camera rendering's edge if that is enough, so that its cells are whole pixels of plain."""
    half = min(rendering_edge // 2, MEASURING_EDGE)
    return half if half >= MEASURING_EDGE // 2 else min(rendering_edge, MEASURING_EDGE)


@dataclass(frozen=True)
class _Looks:
    """Plain of one size with any gain, and what it reads against the camera rendering."""

    frame: Developable
    camera: Light
    found: Registration
    edge: int
    seen: dict[float, Light]
    viewed: dict[float, View] = field(default_factory=dict)

    def plain(self, ev: float) -> Light:
        if ev not in self.seen:
            self.seen[ev] = developed(self.frame, ev, self.edge)
        return self.seen[ev]

    @cached_property
    def layout(self) -> Layout:
        return layout_of(self.camera, next(iter(self.seen.values())), self.found)

    @cached_property
    def camera_view(self) -> View:
        return View(self.layout.lay_first(self.camera))

    def view(self, ev: float) -> View:
        if ev not in self.viewed:
            self.viewed[ev] = View(self.layout.lay_other(self.plain(ev)))
        return self.viewed[ev]

    def reading(self, ev: float) -> float | None:
        views = self.camera_view, self.view(ev)
        return exposure_alone(*views, common_mask(views))


def _fixed_point(looks: _Looks, start: float) -> tuple[float, str]:
    """Gain by secant steps from a start; 0 and a reason when the two cannot be compared."""
    ev, slope, last = start, _SLOPE, None
    for _ in range(_ROUNDS):
        reading = looks.reading(ev)
        if reading is None:
            return 0.0, "the camera rendering and plain share no place that is clear of black and white"
        if abs(reading) < _CLOSE_ENOUGH:
            break
        if last is not None and ev != last[0]:
            slope = min(max((reading - last[1]) / (ev - last[0]), 0.5), 2.5)
        last = ev, reading
        ev = round(min(max(ev - reading / slope, -LIMIT_EV), LIMIT_EV), 4)
        if ev == last[0] or abs(reading) < _ONE_STEP:
            break
    return ev, ""
