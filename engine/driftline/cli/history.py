"""``driftline history``."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any

import typer

from driftline.cli import say
from driftline.cli.options import Json, LedgerPath, open_ledger

if TYPE_CHECKING:
    from driftline.ledger import Ledger, Version


def history(
    recipe: Annotated[
        str | None, typer.Argument(metavar="[R]", help="A recipe's name; absent: all.", show_default=False)
    ] = None,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """List versions, newest first: what changed, when, why, and how far each drifts."""
    opened = open_ledger(ledger)
    versions = opened.versions(recipe)
    if as_json:
        say.document({"versions": [version.json() for version in versions]})
        return
    for name in [recipe] if recipe else opened.recipes():
        _unsaved(opened, name)
    say.lines(line for version in versions for line in described(version))


def described(version: Version) -> Iterator[str]:
    """A version in a few lines: name and time, changes, drift, note."""
    origin = "" if version.kind == "version" else f"  {version.kind}"
    came_from = ", ".join(ref for ref in version.parents if not ref.startswith(f"{version.recipe}@"))
    yield f"{version.ref}  {say.when(version.when)}{origin}{f' of {came_from}' if came_from else ''}"
    yield from (f"    {words}" for words in version.words)
    if version.drift:
        yield f"    drift: {drift_words(version.drift)}"
    if version.note:
        yield from (f"    | {line}" for line in version.note.splitlines())


def drift_words(drift: Any) -> str:
    """The verdict of a version and what it hangs on, in one line."""
    largest = drift.get("largest")
    cause = drift.get("causes", {}).get(largest or "", {})
    amount = cause.get("judged")
    proofs = drift.get("proofs", 0)
    on = f" on {proofs} proof{'s' if proofs != 1 else ''}" if proofs else ""
    if not largest or amount is None:
        return f"{drift.get('verdict', 'not measured')}{on}"
    return f"{drift['verdict']}{on}; most of it {largest.replace('_', ' ')} {amount:+.2f} {cause['unit']}"


def _unsaved(ledger: Ledger, name: str) -> None:
    if ledger.working_differs(name):
        say.remark(f"{name}: the working file differs from the last version; driftline save {name} keeps it")
