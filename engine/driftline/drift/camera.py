"""Which camera a frame is of, and which of its settings: by these a likeness is known."""

from __future__ import annotations

from driftline.pipeline import Frame, KeptFrame


def camera_of(frame: Frame | KeptFrame) -> tuple[str, str]:
    """Camera (make and model) and in-camera setting of a frame, as a likeness names them."""
    if isinstance(frame, KeptFrame):
        exposure = frame.facts["exposure"]
        make, model, setting = exposure["make"], exposure["model"], exposure["setting"]
    else:
        told = frame.exposure()
        make, model, setting = told.make, told.model, told.setting
    model = model or ""
    camera = model if make and model.lower().startswith(make.lower()) else f"{make or ''} {model}".strip()
    return camera or "unknown camera", setting or ""
