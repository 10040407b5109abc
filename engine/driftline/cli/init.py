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
    say.lines([f"a ledger in {ledger.path}, with {len(recipes)} recipes to start from:"])
    say.lines(say.table((f"  {name}", _first_sentence(name, text)) for name, text in recipes.items()))
    say.lines(["Each is a text file under recipes/. Edit one, check it against a frame, and save it."])


def _first_sentence(name: str, text: str) -> str:
    from driftline.recipe import parse_recipe  # noqa: PLC0415

    return (parse_recipe(text, source=name).about or "").partition(". ")[0].rstrip(".")
