"""Options and arguments that several commands share, and how they are understood."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from driftline.errors import UsageError

if TYPE_CHECKING:
    from driftline.ledger import Ledger
    from driftline.recipe import Recipe

LedgerPath = Annotated[
    Path | None,
    typer.Option(
        "--ledger",
        envvar="DRIFTLINE_LEDGER",
        show_default=False,
        help="The ledger's folder; absent: the nearest folder upwards that is one.",
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print one JSON document and nothing else.")]
Frames = Annotated[
    list[Path], typer.Argument(metavar="FRAME...", help="Raw files, or folders of them.", show_default=False)
]
Note = Annotated[str, typer.Option("--note", help="Your own words about this version.")]
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


@dataclass(frozen=True)
class Asked:
    """A recipe argument, understood.

    ``ref`` is the version whose text this is, None for a file or a working file that differs from it;
    ``remark`` says what a user should know about which text was taken.
    """

    recipe: Recipe
    label: str
    ref: str | None
    text: str
    remark: str = ""


def is_file_argument(argument: str) -> bool:
    """Whether a recipe argument means a file rather than a name in the ledger."""
    return argument.endswith(".toml") or "/" in argument


def ask_recipe(argument: str, ledger_path: Path | None, *, working: bool) -> Asked:
    """Find the recipe that an argument means.

    Parameters
    ----------
    argument
        A name, ``name@version`` or a file.
    ledger_path
        As given on the command line.
    working
        Of a bare name, take the working file (to check before saving); else the last saved version (to
        print what can be traced).
    """
    from driftline.recipe import parse_recipe, read_text  # noqa: PLC0415

    if is_file_argument(argument):
        path = Path(argument).expanduser()
        text = read_text(path)
        return Asked(parse_recipe(text, source=str(path)), path.name, None, text)
    ledger = open_ledger(ledger_path)
    if "@" in argument:
        text = ledger.text(argument)
        return Asked(parse_recipe(text, source=argument), argument, argument, text)
    ref = ledger.versions(argument)[0].ref if argument in ledger.recipes() else None
    differs = ledger.working_differs(argument)
    if working or ref is None:
        if ref is None and not working:
            raise UsageError(
                "recipe-not-saved",
                f"{argument}: no version of it is saved, and a print must be traceable",
                hint=f"driftline save {argument}",
            )
        text = ledger.working_text(argument)
        label = f"{argument} (working file)" if differs or ref is None else str(ref)
        remark = f"the working file differs from {ref}; it is what was measured" if differs and ref else ""
        return Asked(parse_recipe(text, source=argument), label, None if differs else ref, text, remark)
    text = ledger.text(ref)
    remark = f"the working file differs from {ref}; the saved version is used" if differs else ""
    return Asked(parse_recipe(text, source=ref), ref, ref, text, remark)
