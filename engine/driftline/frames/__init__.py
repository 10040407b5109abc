"""Frames: raw files, and everything that is read from them.

Owns decoding (in a child process; the only room that knows rawpy), the camera rendering, exposure data,
fingerprints, and finding the frames of a shoot. It must not know stages, recipes or ledgers: it gives
sensor values and the numbers that belong to them, and develops nothing. It never writes to a frame.
Read :meth:`RawFrame.sensor` and :func:`~driftline.frames.decoder.answer` first.
Names are loaded on first use, so that the child does not load what only its parent needs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from driftline.first_use import on_first_use

_WHERE = {
    "RAW_SUFFIXES": "listing",
    "ExposureData": "exposure",
    "Limits": "child",
    "Listed": "listing",
    "RawFrame": "frame",
    "Sensor": "sensor",
    "Sight": "sighting",
    "as_stored": "orientation",
    "find_frames": "listing",
    "list_frames": "listing",
    "set_limits": "child",
    "sight": "sighting",
    "upright": "orientation",
}

__all__ = [
    "RAW_SUFFIXES",
    "ExposureData",
    "Limits",
    "Listed",
    "RawFrame",
    "Sensor",
    "Sight",
    "as_stored",
    "find_frames",
    "list_frames",
    "set_limits",
    "sight",
    "upright",
]

if TYPE_CHECKING:
    from driftline.frames.child import Limits, set_limits
    from driftline.frames.exposure import ExposureData
    from driftline.frames.frame import RawFrame
    from driftline.frames.listing import RAW_SUFFIXES, Listed, find_frames, list_frames
    from driftline.frames.orientation import as_stored, upright
    from driftline.frames.sensor import Sensor
    from driftline.frames.sighting import Sight, sight

__getattr__ = on_first_use(__name__, _WHERE)


def __dir__() -> list[str]:
    return sorted(__all__)
