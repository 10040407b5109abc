"""Demo frames by what they show, each opened once."""

from __future__ import annotations

from functools import cache
from typing import Any

import demo_frames
from driftline.pipeline import Frame, open_frame


def _truths() -> dict[str, dict[str, Any]]:
    return {frame["file"]: frame["truth"] for frame in demo_frames.registry()}


@cache
def demo(word: str) -> Frame:
    """The first demo frame whose file is named for this: night, fog, grey, chart, noon, shade."""
    return open_frame(demo_frames.DEMO / next(name for name in _truths() if word in name))


@cache
def mono() -> Frame:
    """The demo frame whose camera was set to black and white."""
    return open_frame(
        demo_frames.DEMO / next(name for name, truth in _truths().items() if truth["style"]["mono"])
    )


def truth(frame: Frame) -> dict[str, Any]:
    """What is known of a demo frame."""
    return _truths()[frame.path.name]
