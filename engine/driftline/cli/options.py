"""Options and arguments that several commands share, and the ledger they mean."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from driftline.errors import LedgerError

if TYPE_CHECKING:
    from driftline.ledger import Ledger

LedgerPath = Annotated[
    Path | None,
    typer.Option(
        "--ledger",
        metavar="DIR",
        envvar="DRIFTLINE_LEDGER",
        show_default=False,
        help="The ledger; absent: the nearest folder upwards that is one.",
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]
Frames = Annotated[
    list[Path], typer.Argument(metavar="FRAME...", help="Raw files, or folders of them.", show_default=False)
]
Note = Annotated[
    str, typer.Option("--note", metavar="TEXT", help="Your own words about this version.", show_default=False)
]
Look = Annotated[
    str,
    typer.Option(
        "--recipe", metavar="R", help="A recipe: its name, name@version, or a file.", show_default=False
    ),
]


def open_ledger(path: Path | None) -> Ledger:
    """The ledger named, or the nearest upwards."""
    from driftline.ledger import Ledger  # noqa: PLC0415  (help must not load it)

    return Ledger.open(path) if path else Ledger.find()


def ledger_if_any(path: Path | None) -> Ledger | None:
    """The ledger named, or the nearest upwards; None where there is none and none was named."""
    try:
        return open_ledger(path)
    except LedgerError as error:
        if path or error.code != "ledger-not-found":
            raise
        return None
