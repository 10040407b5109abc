"""What the photographer of the demo does: three edits of one look, and a fork of it for the evening."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from driftline.drift import SavedMeasured
    from driftline.ledger import Ledger

RECIPE, FORK = "open-platform", "platform-late"


def tell_story(ledger: Ledger, frames: Sequence[Path]) -> Iterator[SavedMeasured]:
    """Each version as it is saved, measured on two frames of the day."""
    from driftline.drift import fork_measured  # noqa: PLC0415
    from driftline.pipeline import open_frame  # noqa: PLC0415

    by_day = [path for path in frames if path.stem.endswith(("grey-middle", "noon-wide"))] or list(frames)
    yield _edit(
        ledger,
        RECIPE,
        {"exposure.ev": 0.10, "curve.toe": -0.10},
        proofs=[open_frame(path) for path in by_day[:2]],
        note="faces under the awning were too dark",
    )
    yield _edit(
        ledger,
        RECIPE,
        {"curve.slope": 1.35, "chroma.scale": 1.30},
        note="more punch; on the wall it shouted",
    )
    yield _edit(
        ledger,
        RECIPE,
        {"curve.slope": 1.14, "chroma.scale": 1.08},
        note="half of that is plenty",
    )
    yield fork_measured(ledger, RECIPE, FORK, note="the same look, for after the lamps come on")
    yield _edit(
        ledger,
        FORK,
        {"white.shift": 8.0, "split.low.hue": 260.0, "split.low.chroma": 0.008},
        note="warm lamps, cold shadows",
    )


def _edit(
    ledger: Ledger, name: str, values: Mapping[str, float], *, note: str, proofs: Sequence[Any] = ()
) -> SavedMeasured:
    """Change a few parameters of the working text, as in a text editor, and save it measured."""
    from driftline.drift import save_measured  # noqa: PLC0415
    from driftline.recipe import from_parameters, parameters, parse_recipe, recipe_text  # noqa: PLC0415

    text = ledger.working_text(name)
    recipe = parse_recipe(text, source=name)
    edited = from_parameters({**parameters(recipe), **values}, name=recipe.name, about=recipe.about)
    return save_measured(ledger, name, recipe_text(edited, base=text), proofs=proofs, note=note)
