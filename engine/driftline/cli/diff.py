"""``driftline diff``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from driftline.cli import say
from driftline.cli.options import Asked, Json, LedgerPath, ask_recipe, is_file_argument, open_ledger
from driftline.errors import UsageError


def diff(
    a: Annotated[str, typer.Argument(metavar="A", help="A recipe: name, name@version or file.")],
    b: Annotated[str | None, typer.Argument(metavar="[B]", help="Another; absent: A's last version.")] = None,
    frame: Annotated[
        Path | None, typer.Option("--frame", help="Also measure both on this frame.", show_default=False)
    ] = None,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Tell two recipes apart, parameter by parameter and, with a frame, by picture."""
    from driftline.recipe import differences, in_words  # noqa: PLC0415

    before, after = _sides(a, b, ledger)
    changes = differences(before.recipe, after.recipe)
    drift = _by_picture(frame, before, after) if frame else None
    if as_json:
        say.document(
            {
                "from": before.label,
                "to": after.label,
                "changes": [change.json() for change in changes],
                "drift": drift,
            }
        )
        return
    say.lines([f"{before.label} → {after.label}"])
    say.lines(f"  {words}" for words in in_words(changes) or ["no change of the look"])
    if drift:
        say.lines(_drift_lines(drift))


def _sides(a: str, b: str | None, ledger: Path | None) -> tuple[Asked, Asked]:
    """From what to what: with one name, from its last version to the working file."""
    first = ask_recipe(a, ledger, working=True)
    if b is not None:
        return first, ask_recipe(b, ledger, working=True)
    if is_file_argument(a):
        raise UsageError(
            "diff-one-file",
            f"{a}: a file has no last version to be compared with",
            hint="name a second recipe: driftline diff A B",
        )
    last = open_ledger(ledger).versions(a.partition("@")[0])[0].ref
    return ask_recipe(last, ledger, working=True), first


def _by_picture(path: Path, before: Asked, after: Asked) -> dict[str, object]:
    from driftline.drift import between  # noqa: PLC0415
    from driftline.pipeline import open_frame  # noqa: PLC0415

    return between(open_frame(path), before.recipe, after.recipe).json()


def _drift_lines(drift: dict[str, object]) -> list[str]:
    causes = drift["causes"]
    assert isinstance(causes, dict)
    rows = [
        (f"  {name.replace('_', ' ')}", f"{cause['value']:+.2f}", cause["unit"])
        for name, cause in causes.items()
        if cause["value"] is not None
    ]
    return ["  by picture:", *say.table(rows, right=[1])]
