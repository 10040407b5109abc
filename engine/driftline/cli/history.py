"""``driftline history``."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from driftline.cli import say
from driftline.cli.drift_line import drift_words
from driftline.cli.options import Json, LedgerPath, open_ledger
from driftline.cli.trend_chart import charted

if TYPE_CHECKING:
    from driftline.ledger import Ledger, Version


def history(
    recipe: Annotated[
        str | None, typer.Argument(metavar="[R]", help="A recipe's name; absent: all.", show_default=False)
    ] = None,
    trend: Annotated[
        bool, typer.Option("--trend", help="The path of each parameter, and whether it has settled.")
    ] = False,
    since: Annotated[
        str | None, typer.Option("--since", metavar="DAY", help="Only from this day on: 2031-04-12.")
    ] = None,
    until: Annotated[
        str | None, typer.Option("--until", metavar="DAY", help="Only up to this day, itself included.")
    ] = None,
    verdict: Annotated[
        list[str] | None,
        typer.Option("--verdict", metavar="V", help="Only these: in keeping, leaning, overdone; repeatable."),
    ] = None,
    frame: Annotated[
        list[str] | None,
        typer.Option("--frame", metavar="FRAME", help="Only those measured on this proof; repeatable."),
    ] = None,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """List versions, newest first: what changed, when, why, how far.

    With each version: its changes in words, its drift as measured when it was saved, and your note.
    """
    opened = open_ledger(ledger)
    versions = opened.versions(
        recipe, since=since, until=until, verdict=verdict, frame=[_fingerprint(one) for one in frame or []]
    )
    names = [recipe] if recipe else opened.recipes()
    for name in names:
        _unsaved(opened, name)
    trends = [opened.trend(name) for name in names] if trend else []
    if as_json:
        more = {"trends": [one.json() for one in trends]} if trend else {}
        say.document({"versions": [version.json() for version in versions], **more})
        return
    if trend:
        say.lines(line for one in trends for line in charted(one))
        return
    say.lines(line for version in versions for line in described(version))
    if not versions:
        say.lines(["no version answers that"])


def described(version: Version) -> Iterator[str]:
    """A version in a few lines: name and time, changes, drift, note."""
    plain = version.kind in ("version", "words")
    origin = "" if plain else f"  {version.kind} of {' and '.join(version.parents)}"
    yield f"{version.ref}  {say.when(version.when)}{origin}"
    yield from (f"    {words}" for words in version.words)
    if version.kind == "words":
        yield "    words only; the look is the same"
    if version.drift:
        yield f"    drift: {drift_words(version.drift)}"
    yield from (f"    | {line}" for line in version.note.splitlines())


def _fingerprint(frame: str) -> str:
    """Of a raw file its fingerprint; anything else is taken for the beginning of one."""
    if not Path(frame).expanduser().is_file():
        return frame
    from driftline.frames import RawFrame  # noqa: PLC0415

    return RawFrame(Path(frame).expanduser()).fingerprint()


def _unsaved(ledger: Ledger, name: str) -> None:
    if ledger.working_differs(name):
        say.remark(f"{name}: the working file differs from the last version; driftline save {name} keeps it")
