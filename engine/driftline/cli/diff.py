"""``driftline diff``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from driftline.cli import say
from driftline.cli.asked import Asked, ask_recipe, is_file_argument
from driftline.cli.drift_line import cause_name
from driftline.cli.options import Json, LedgerPath, ledger_if_any, open_ledger
from driftline.drift.causes import amount
from driftline.errors import UsageError

if TYPE_CHECKING:
    from driftline.drift import Drift


def diff(
    a: Annotated[str, typer.Argument(metavar="A", help="A recipe: its name, name@version, or a file.")],
    b: Annotated[
        str | None,
        typer.Argument(metavar="[B]", help="Another; absent: A's last version.", show_default=False),
    ] = None,
    frame: Annotated[
        Path | None, typer.Option("--frame", metavar="FRAME", help="Also measure both on this frame.")
    ] = None,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Tell two recipes apart, parameter by parameter and by picture.

    A bare name means its working file: driftline diff NAME shows what you changed since the last version.
    """
    from driftline.recipe import differences, in_words  # noqa: PLC0415

    before, after = _sides(a, b, ledger)
    changes = differences(before.recipe, after.recipe)
    drift = _by_picture(frame, before, after, ledger) if frame else None
    if b is not None:
        say.remark(before.remark)
        say.remark(after.remark)
    if as_json:
        listed = [change.json() for change in changes]
        measured = drift.json() if drift else None
        say.document({"from": before.label, "to": after.label, "changes": listed, "drift": measured})
        return
    say.lines([f"{before.label} → {after.label}"])
    say.lines(f"  {words}" for words in in_words(changes) or ["no change of the look"])
    if drift:
        say.lines(_drift_lines(drift))


def _sides(a: str, b: str | None, ledger: Path | None) -> tuple[Asked, Asked]:
    """From what to what; with one name, the older side first."""
    first = ask_recipe(a, ledger)
    if b is not None:
        return first, ask_recipe(b, ledger)
    if is_file_argument(a):
        raise UsageError(
            "diff-one-file",
            f"{a}: a file has no last version to be compared with",
            hint=f"name a second recipe: driftline diff NAME {a}",
        )
    last = ask_recipe(open_ledger(ledger).version(a.partition("@")[0]).ref, ledger)
    return (first, last) if "@" in a else (last, first)


def _by_picture(path: Path, before: Asked, after: Asked, ledger: Path | None) -> Drift:
    from driftline.drift import between, frame_in  # noqa: PLC0415

    opened = ledger_if_any(ledger)
    bands = opened.settings().bands if opened else None
    return between(frame_in(opened, path), before.recipe, after.recipe, bands=bands)


def _drift_lines(drift: Drift) -> list[str]:
    causes = [cause for cause in drift.causes.values() if cause.value is not None]
    rows = [(f"  {cause_name(c.key)}", amount(c.value or 0.0, c.unit), c.verdict) for c in causes]
    reasons = dict.fromkeys(cause.reason for cause in drift.causes.values() if not cause.comparable)
    return ["by picture:", *say.table(rows), *(f"  not compared: {reason}" for reason in reasons)]
