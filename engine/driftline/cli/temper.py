"""``driftline temper``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from driftline.cli import say
from driftline.cli.drift_line import cause_name
from driftline.cli.options import Json, LedgerPath, Note, open_ledger
from driftline.cli.readable import open_readable
from driftline.cli.save import tell
from driftline.errors import UsageError

if TYPE_CHECKING:
    from driftline.drift import Tempered, TemperedVersion


def temper(
    recipe: Annotated[
        str, typer.Argument(metavar="R", help="The version to soften: name@version, or a name for its last.")
    ],
    proof: Annotated[
        list[Path] | None,
        typer.Option("--proof", metavar="FRAME", help="Keep this frame as a proof first; may be repeated."),
    ] = None,
    to: Annotated[
        str, typer.Option("--to", metavar="VERDICT", help="The verdict to reach: in-keeping or leaning.")
    ] = "in-keeping",
    only: Annotated[
        str,
        typer.Option(
            "--only",
            metavar="largest",
            show_default=False,
            help="Ease only the sections with the largest shares, as few as are enough; absent: all evenly.",
        ),
    ] = "",
    note: Note = "",
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> int:
    """Save a softer version of a recipe: the strongest that still has a verdict on all its proofs.

    Black and white, grain and where exposure starts are left alone. A version that has the verdict already
    stays the last one.
    """
    from driftline.drift import temper_version  # noqa: PLC0415

    if only not in ("", "largest"):
        raise UsageError("temper-only", f"--only {only}: largest is expected", hint="--only largest")
    opened = open_ledger(ledger)
    frames, failed = open_readable(proof) if proof else ([], [])
    found = temper_version(
        opened, recipe, proofs=frames, verdict=to.replace("-", " "), along=only or "all", note=note
    )
    if as_json:
        failures = [failure.json() for failure in failed]
        tell(found.measured, as_json=True, tempered=found.tempered.json(), failed=failures)
    else:
        _tell(found)
    return 1 if failed else 0


def _tell(found: TemperedVersion) -> None:
    """Say what was eased and what came of it; of a version that needs nothing, that."""
    measured, tempered = found
    if tempered.already:
        for problem in measured.problems:
            say.remark(problem)
        say.lines([f"nothing to ease: {measured.saved.ref} is {_was(tempered)}"])
        return
    tell(measured, as_json=False)
    eased = f"{', '.join(tempered.sections)} eased to {tempered.strength:.0%}"
    say.lines([f"  {eased}; it was {_was(tempered)}"])


def _was(tempered: Tempered) -> str:
    largest = tempered.largest_before
    return f"{tempered.verdict_before}{f', most of all {cause_name(largest)}' if largest else ''}"
