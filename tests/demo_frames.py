"""The demo shoot and what is known of it, for tests."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

DEMO = Path(__file__).parent.parent / "demo_raws"


@cache
def registry() -> list[dict[str, Any]]:
    """Every frame with its truth, as the registry has it."""
    return json.loads((DEMO / "registry.json").read_text())["frames"]


def paths() -> list[Path]:
    """The demo frames in order."""
    return [DEMO / frame["file"] for frame in registry()]


def named(part: str) -> Path:
    """The frame whose name has this part, such as ``grey-middle``."""
    return next(path for path in paths() if part in path.stem)


def number(part: str) -> int:
    """The place of that frame in the shoot."""
    return paths().index(named(part))


def chart() -> tuple[Path, dict[str, Any]]:
    """The frame with the 24-patch chart, and its truth."""
    frame = next(frame for frame in registry() if "chart" in frame["truth"])
    return DEMO / frame["file"], frame["truth"]
