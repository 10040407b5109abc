"""The lens of a frame, undone as its likeness says."""

from __future__ import annotations

from typing import Protocol, runtime_checkable
from weakref import WeakKeyDictionary

from driftline.arrays import CameraRGB
from driftline.pipeline.frame import Developable, Frame
from driftline.pipeline.kept import KeptFrame
from driftline.pipeline.kernels.lens import lens
from driftline.recipe import LensTerms
from driftline.stages.lens import lens as lens_plainly


@runtime_checkable
class SaysItsLens(Protocol):
    """A frame of another kind that says what it was taken with."""

    def taken_with(self) -> tuple[str, float | None]:
        """As :func:`taken_with`."""


def taken_with(frame: Developable) -> tuple[str, float | None]:
    """Name of the lens, '' if unknown, and focal length in mm, of a frame or a kept proof of one."""
    if isinstance(frame, KeptFrame):
        told = frame.facts["exposure"]
        return told.get("lens") or "", told.get("focal_mm")
    if isinstance(frame, Frame):
        exposure = frame.exposure()
        return exposure.lens or "", exposure.focal_mm
    return frame.taken_with() if isinstance(frame, SaysItsLens) else ("", None)


def lens_of(frame: Developable) -> LensTerms | None:
    """What the frame's likeness knows of its lens, if there is one and it does."""
    if frame.likeness is None or not frame.likeness.lens:
        return None
    return frame.likeness.lens_terms(*taken_with(frame))


def without_lens(frame: Developable, camera: CameraRGB, *, reference: bool = False) -> CameraRGB:
    """Camera RGB without the distortion and falloff that the frame's likeness knows of its lens.

    Without a likeness, or where it does not know this lens at this focal length: the very same array.
    """
    terms = lens_of(frame)
    if terms is None:
        return camera
    if reference:
        return lens_plainly(camera, distortion=terms.distortion, falloff_ev=terms.falloff_ev)
    kept = _kept.setdefault(frame, [])
    for seen, known, undone in kept:
        if seen is camera and known == terms:
            return undone
    undone = lens(camera, distortion=terms.distortion, falloff_ev=terms.falloff_ev)
    if camera.size <= _KEPT_SIZE:
        kept[:] = [(camera, terms, undone), *kept[:1]]
    return undone


_KEPT_SIZE = 3 * 4_000_000
"""What is as large as a draft is kept, so that a frame that is checked again need not wait for it."""
_kept: WeakKeyDictionary[Developable, list[tuple[CameraRGB, LensTerms, CameraRGB]]] = WeakKeyDictionary()
