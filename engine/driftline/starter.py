"""Where the starter recipes and the demo frames lie: inside an installed package, or beside the code."""

from __future__ import annotations

from pathlib import Path

from driftline.errors import UsageError

_PACKAGED = Path(__file__).parent / "starter"
_CHECKOUT = Path(__file__).parents[2]


def starter_recipes() -> dict[str, str]:
    """The text of every starter recipe by name, in alphabetical order."""
    return {path.stem: path.read_text("utf-8") for path in sorted(_folder("recipes").glob("*.toml"))}


def demo_frames() -> list[Path]:
    """The frames of the demo shoot, in the order they were taken."""
    return sorted(_folder("demo_raws").glob("*.dng"))


def _folder(name: str) -> Path:
    for place in (_PACKAGED / name, _CHECKOUT / name):
        if place.is_dir():
            return place
    raise UsageError(
        "starter-missing",
        f"the folder {name} is neither in the package ({_PACKAGED}) nor in a checkout ({_CHECKOUT})",
        hint="install driftline again from its wheel or its checkout",
    )
