"""The batch: one look over many frames, in parallel, resumable, each frame's trouble its own.

Owns the state of a shoot, the plan of a run, the pool of workers, the run's lock, names of prints and the
summary. It must not know the terminal or how pictures are developed or encoded. Read
:func:`~driftline.batch.run.run_batch` and :func:`~driftline.batch.plan.plan_run` first.

Names are loaded on first use, so that a worker does not load what only its parent needs.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from driftline.first_use import on_first_use

_WHERE = {
    "Failed": "order",
    "Form": "order",
    "FrameState": "shoot",
    "Kept": "order",
    "Look": "order",
    "Printed": "order",
    "RunResult": "order",
    "Shoot": "shoot",
    "apply": "applying",
    "look_of": "applying",
    "look_over": "shoot",
    "run_batch": "run",
    "set_aside": "shoot",
    "sheet_of_frames": "sheet",
    "sheet_of_versions": "sheet",
}

__all__ = [
    "Failed",
    "Form",
    "FrameState",
    "Kept",
    "Look",
    "Printed",
    "RunResult",
    "Shoot",
    "apply",
    "look_of",
    "look_over",
    "run_batch",
    "set_aside",
    "sheet_of_frames",
    "sheet_of_versions",
]

if TYPE_CHECKING:
    from driftline.batch.applying import apply, look_of
    from driftline.batch.order import Failed, Form, Kept, Look, Printed, RunResult
    from driftline.batch.run import run_batch
    from driftline.batch.sheet import sheet_of_frames, sheet_of_versions
    from driftline.batch.shoot import FrameState, Shoot, look_over, set_aside

__getattr__ = on_first_use(__name__, _WHERE)


def __dir__() -> list[str]:
    return sorted(__all__)
