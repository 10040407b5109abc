"""``driftline apply``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Literal

import typer

from driftline.cli import say
from driftline.cli.asked import is_file_argument
from driftline.cli.options import Frames, Json, LedgerPath, ledger_if_any, open_ledger
from driftline.cli.progress import progress_bar
from driftline.cli.run_report import summary


def apply(
    recipe: Annotated[str, typer.Argument(metavar="R", help="A recipe: its name, name@version, or a file.")],
    frames: Frames,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Where the prints go.")],
    purpose: Annotated[
        str | None,
        typer.Option(
            metavar="NAME", help="What for: display, feed, portfolio, lab, archive, or of your settings."
        ),
    ] = None,
    size: Annotated[
        int | None, typer.Option(metavar="PIXELS", help="Longer side; absent: the purpose's, else as taken.")
    ] = None,
    quality: Annotated[
        int | None, typer.Option(metavar="N", help="Of the JPEG, 1 to 100; absent: the purpose's, else 92.")
    ] = None,
    space: Annotated[
        Literal["srgb", "display-p3"] | None,
        typer.Option(metavar="SPACE", help="srgb or display-p3; absent: the purpose's, else srgb."),
    ] = None,
    workers: Annotated[
        int | None, typer.Option(metavar="N", min=1, help="How many frames at a time; absent: one a core.")
    ] = None,
    scheduler: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="Run on a cluster instead: tcp://host:8786.")
    ] = None,
    refresh: Annotated[
        bool,
        typer.Option(
            "--refresh", help="Print anew what has another version, size, location, credit or text."
        ),
    ] = False,
    keep_location: Annotated[
        bool, typer.Option("--keep-location", help="Say in the prints where they were taken.")
    ] = False,
    recipe_in_print: Annotated[
        bool,
        typer.Option(
            "--recipe-in-print",
            help="Put the recipe's text into the prints: they are then made again without the ledger.",
        ),
    ] = False,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> int:
    """Develop a batch of frames into prints.

    A bad frame never stops the rest; running it again does only what is missing. Originals are only read.
    """
    from driftline import batch  # noqa: PLC0415

    opened = ledger_if_any(ledger) if is_file_argument(recipe) else open_ledger(ledger)
    if opened and "@" not in recipe and not is_file_argument(recipe) and opened.working_differs(recipe):
        last = opened.version(recipe).ref
        say.remark(f"{recipe}: the working file differs from {last}; {last} is used")
    with progress_bar(quiet=as_json) as progress:
        result = batch.apply(
            opened,
            recipe,
            frames,
            out,
            purpose=purpose,
            size=size,
            quality=quality,
            space=space,
            workers=workers,
            refresh=refresh,
            keep_location=keep_location,
            recipe_in_print=recipe_in_print,
            scheduler=scheduler,
            progress=progress,
        )
    say.remark(result.unrecorded)
    if as_json:
        say.document(result.json_document())
    else:
        say.lines(summary(result, out))
    return result.exit_status
