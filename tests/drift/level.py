"""Frames whose camera rendering is plain itself, so that plain stands at no distance: the floor is zero."""

from __future__ import annotations

from functools import cache

import numpy as np

import demo_frames
from driftline.arrays import CameraRGB, EncodedRGB
from driftline.drift import anchor_ev, render
from driftline.pipeline import KeptFrame, keep, open_frame
from driftline.recipe import NEUTRAL

EDGE = 480
"""Long edge of these frames: large enough for every cause, small enough for many checks."""
NIGHT, WINDOW, FOG, GREY, CHART, NOON, MONO, SHADE = (
    demo_frames.number(name)
    for name in (
        "night-wide",
        "night-tight",
        "fog-wide",
        "grey-middle",
        "chart",
        "noon-wide",
        "noon-middle",
        "shade-middle",
    )
)


class LevelFrame(KeptFrame):
    """A kept proof, made smaller, whose camera is replaced by one that renders as plain does."""

    def developable(self, *, chroma_noise: float = 0.0, long_edge: int | None = None) -> CameraRGB:
        """As of a kept proof, at most ``EDGE`` pixels long."""
        return super().developable(chroma_noise=chroma_noise, long_edge=min(long_edge or EDGE, EDGE))

    def camera_rendering(self, max_edge: int | None = None) -> EncodedRGB | None:
        """Plain."""
        return np.asarray(render(_kept(self.path.name), NEUTRAL, long_edge=EDGE))


@cache
def _files(name: str) -> dict[str, bytes]:
    return keep(open_frame(demo_frames.DEMO / name))


@cache
def _kept(name: str) -> KeptFrame:
    return KeptFrame(_files(name))


@cache
def level_frame(index: int) -> LevelFrame:
    """One of the demo frames by its place in the shoot, levelled; its camera rendering is found once."""
    frame = LevelFrame(_files(demo_frames.paths()[index].name))
    anchor_ev(frame)
    return frame


@cache
def kept_frame(index: int) -> KeptFrame:
    """One of the demo frames by its place in the shoot, as a kept proof."""
    return _kept(demo_frames.paths()[index].name)
