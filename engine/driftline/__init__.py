"""driftline: versions, lineage and drift of raw-development recipes.

Read :func:`open_frame` and :func:`render` first. Names are loaded on first use, so that
``import driftline`` stays cheap.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from driftline.first_use import on_first_use

__version__ = "0.1.0"

_WHERE = {
    "DriftlineError": "errors",
    "Drift": "drift",
    "Frame": "pipeline",
    "Ledger": "ledger",
    "Recipe": "recipe",
    "measure_drift": "drift",
    "open_frame": "pipeline",
    "read_recipe": "recipe",
    "render": "drift",
}

__all__ = [
    "Drift",
    "DriftlineError",
    "Frame",
    "Ledger",
    "Recipe",
    "__version__",
    "measure_drift",
    "open_frame",
    "read_recipe",
    "render",
]

if TYPE_CHECKING:
    from driftline.drift import Drift, measure_drift, render
    from driftline.errors import DriftlineError
    from driftline.ledger import Ledger
    from driftline.pipeline import Frame, open_frame
    from driftline.recipe import Recipe, read_recipe

__getattr__ = on_first_use(__name__, _WHERE)


def __dir__() -> list[str]:
    return sorted(__all__)
