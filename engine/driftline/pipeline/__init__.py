"""Joins WHAT (recipe) and HOW (stages): plan, kernels, strips, threads.

Owns the order of the stages, the edition number, and how they run fast. Knows nothing of git, of prints'
files or of drift. Read :func:`~driftline.pipeline.developing.develop` and
:func:`~driftline.pipeline.plan.plan` first.
Names are loaded on first use, so that the plan of a run loads no kernels.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from driftline.first_use import on_first_use

_WHERE = {
    "EDITION": "plan",
    "Developable": "frame",
    "Frame": "frame",
    "KeptFrame": "kept",
    "develop": "developing",
    "develop_light": "developing",
    "keep": "kept",
    "kept_name": "kept",
    "open_frame": "frame",
}

__all__ = [
    "EDITION",
    "Developable",
    "Frame",
    "KeptFrame",
    "develop",
    "develop_light",
    "keep",
    "kept_name",
    "open_frame",
]

if TYPE_CHECKING:
    from driftline.pipeline.developing import develop, develop_light
    from driftline.pipeline.frame import Developable, Frame, open_frame
    from driftline.pipeline.kept import KeptFrame, keep, kept_name
    from driftline.pipeline.plan import EDITION

__getattr__ = on_first_use(__name__, _WHERE)


def __dir__() -> list[str]:
    return sorted(__all__)
