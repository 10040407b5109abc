"""``driftline bench``."""

from __future__ import annotations

import webbrowser
from typing import Annotated

import typer

from driftline.cli import say
from driftline.cli.options import Frames, Json, LedgerPath, open_ledger


def bench(
    frames: Frames,
    recipe: Annotated[
        str | None,
        typer.Option(
            "--recipe",
            metavar="R",
            help="A recipe of the ledger, a version to hang beside it, a file; absent: the one saved last.",
            show_default=False,
        ),
    ] = None,
    port: Annotated[
        int, typer.Option("--port", metavar="N", min=0, max=65535, help="Where to listen; 0: any free port.")
    ] = 0,
    show: Annotated[bool, typer.Option("--open", help="Open the page in the browser as well.")] = False,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Edit a recipe on a page of your browser, with these frames to judge it by, until Ctrl-C.

    The page is served to this machine alone. Every edit is in the recipe's file at once; a version is saved
    when you say so. A file outside the ledger is edited where it lies, and taken in when it is saved.
    """
    from driftline.batch.plan import frames_of  # noqa: PLC0415
    from driftline.pages.bench import serve  # noqa: PLC0415

    def ready(address: str) -> None:
        if as_json:
            say.document({"address": address})
        else:
            say.lines([f"the bench is at {address}", "Ctrl-C closes it; edits are in the recipe's file"])
        if show:
            webbrowser.open(address)

    serve(open_ledger(ledger), frames_of(frames), recipe, port=port, ready=ready)
    say.trouble("the bench is closed")
