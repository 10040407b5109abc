"""``driftline init``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from driftline.cli import say
from driftline.cli.options import Json


def init(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="A new or empty folder.", show_default=False)],
    as_json: Json = False,
) -> None:
    """Make a ledger with the starter recipes."""
    from driftline.ledger import Ledger  # noqa: PLC0415
    from driftline.starter import starter_recipes  # noqa: PLC0415

    recipes = starter_recipes()
    ledger = Ledger.create(folder, recipes)
    if as_json:
        say.document({"ledger": str(ledger.path), "recipes": list(recipes)})
        return
    say.lines(
        [
            f"A ledger in {ledger.path}, with {len(recipes)} recipes to start from:",
            *(f"  {name}" for name in recipes),
            "Each is a text file under recipes/; edit one, check it against a frame, and save it.",
        ]
    )
