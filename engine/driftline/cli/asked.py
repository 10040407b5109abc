"""What a recipe argument means: a name, a version, or a file."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from driftline.cli.options import open_ledger
from driftline.errors import LedgerError

if TYPE_CHECKING:
    from driftline.ledger import Ledger
    from driftline.recipe import Recipe


@dataclass(frozen=True)
class Asked:
    """A recipe argument, understood.

    ``label`` is what to call it; ``remark`` says what a user should know about which text was taken;
    ``name`` is its name in the ledger, empty for a file.
    """

    recipe: Recipe
    label: str
    remark: str = ""
    name: str = ""


def is_file_argument(argument: str) -> bool:
    """Whether a recipe argument means a file rather than a name in the ledger.

    Examples
    --------
    >>> is_file_argument("looks/dusk.toml"), is_file_argument("dusk@7.laptop")
    (True, False)
    """
    return argument.endswith(".toml") or "/" in argument


def ask_recipe(argument: str, ledger_path: Path | None) -> Asked:
    """Find the recipe that an argument means; of a bare name, its working file: one checks before saving.

    Parameters
    ----------
    argument
        A name, ``name@version`` or a file.
    ledger_path
        As given on the command line; a file needs no ledger.
    """
    from driftline.recipe import read_recipe  # noqa: PLC0415

    if is_file_argument(argument):
        path = Path(argument).expanduser()
        return Asked(read_recipe(path), path.name)
    ledger = open_ledger(ledger_path)
    if "@" in argument:
        return Asked(ledger.read(argument), argument, name=argument.partition("@")[0])
    return replace(_working(ledger, argument), name=argument)


def _working(ledger: Ledger, name: str) -> Asked:
    from driftline.recipe import parse_recipe  # noqa: PLC0415

    try:
        text = ledger.working_text(name)
    except LedgerError as error:
        if error.code != "no-such-recipe-file":
            raise
        last = ledger.version(name).ref
        return Asked(ledger.read(last), last, f"{name}: its working file is missing; {last} is used")
    if not ledger.working_differs(name):
        last = ledger.version(name).ref
        return Asked(parse_recipe(text, source=last), last)
    recipe = parse_recipe(text, source=str(ledger.path / "recipes" / f"{name}.toml"))
    label = f"{name} (working file)"
    if name not in ledger.recipes():
        return Asked(recipe, label, f"{name}: not saved yet; its working file is used")
    last = ledger.version(name).ref
    return Asked(recipe, label, f"{name}: the working file differs from {last}; the working file is used")
