"""Joins WHAT (recipe) and HOW (stages): plan, kernels, strips, threads.

Owns the order of the stages, the edition number, and how they run fast. Knows nothing of git, of prints'
files or of drift. Read :func:`~driftline.pipeline.develop.develop` and
:func:`~driftline.pipeline.plan.plan` first.
"""

from driftline.pipeline.develop import develop, develop_light
from driftline.pipeline.frame import Developable, Frame, open_frame
from driftline.pipeline.kept import KeptFrame, keep, kept_name
from driftline.pipeline.plan import EDITION

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
