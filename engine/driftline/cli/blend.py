"""``driftline blend``."""

from __future__ import annotations

from typing import Annotated

import typer

from driftline.cli import say
from driftline.cli.options import Json, LedgerPath, Note, open_ledger
from driftline.cli.save import report


def blend(
    a: Annotated[str, typer.Argument(metavar="A", help="A version: name or name@version.")],
    b: Annotated[str, typer.Argument(metavar="B", help="Another.")],
    new: Annotated[str, typer.Argument(metavar="NEW", help="The new recipe's name.")],
    weight: Annotated[
        float, typer.Option("--weight", min=0.0, max=1.0, help="How much of B: 0 is A, 1 is B.")
    ],
    note: Note = "",
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Make a new recipe between two versions; it keeps both as parents."""
    from driftline.drift import save_measured  # noqa: PLC0415
    from driftline.errors import LedgerError  # noqa: PLC0415
    from driftline.recipe import blend as between  # noqa: PLC0415
    from driftline.recipe import recipe_text  # noqa: PLC0415

    opened = open_ledger(ledger)
    if new in opened.recipes():
        raise LedgerError("recipe-exists", f"{new}: there is a recipe of that name", hint="another name")
    first, second = opened.version(a), opened.version(b)
    mixed, remarks = between(opened.read(first.ref), opened.read(second.ref), weight)
    about = f"{weight:.0%} of {second.ref} in {first.ref}"
    text = recipe_text(mixed.model_copy(update={"name": new, "about": about}))
    saved, drift, problems = save_measured(
        opened, new, text, note=note, kind="blend", parents=(first.ref, second.ref)
    )
    for remark in (*remarks, *problems):
        say.remark(remark)
    if as_json:
        say.document({**saved.json(), "notes": list(remarks), "drift": drift})
        return
    say.lines(report(saved, drift))
