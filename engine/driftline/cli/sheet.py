"""``driftline sheet``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from driftline.cli import say
from driftline.cli.asked import ask_recipe
from driftline.cli.options import Json, LedgerPath, ledger_if_any, open_ledger
from driftline.cli.run_report import failures

if TYPE_CHECKING:
    from driftline.ledger import Ledger


def sheet(
    what: Annotated[
        list[str],
        typer.Argument(metavar="FRAME...|R", help="Frames or folders; or one recipe, for its versions."),
    ],
    out: Annotated[Path, typer.Option("--out", metavar="FILE", help="The sheet: .jpg or .png.")],
    recipe: Annotated[
        str, typer.Option("--recipe", metavar="R", help="Develop frames with this; absent: plain.")
    ] = "",
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> int:
    """Lay frames, or a recipe's versions, out on a contact sheet.

    Frames stand in the order of their names; of a recipe, each row is a proof and each column a version.
    """
    from driftline import batch  # noqa: PLC0415
    from driftline.recipe import recipe_text  # noqa: PLC0415

    if len(what) == 1 and not Path(what[0]).exists():
        shown = batch.sheet_of_versions(open_ledger(ledger), what[0], out)
        told, failed = say.count(shown, "version"), []
    else:
        opened = ledger_if_any(ledger)
        asked = ask_recipe(recipe, ledger) if recipe else None
        failed = batch.sheet_of_frames(
            what,
            out,
            recipe_text=recipe_text(asked.recipe) if asked else None,
            label=asked.label if asked else "",
            likenesses=_likenesses(opened),
        )
        told = "the frames"
    if as_json:
        say.document({"path": str(out), "failed": [one.model_dump(mode="json") for one in failed]})
    else:
        say.lines([f"{out} shows {told}", *failures(failed)])
    return 1 if failed else 0


def _likenesses(ledger: Ledger | None) -> dict[str, str]:
    return {name: ledger.likeness(name) or "" for name in ledger.likenesses()} if ledger else {}
