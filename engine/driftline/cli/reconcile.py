"""``driftline reconcile``."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any, Literal, cast

import typer

from driftline.cli import say
from driftline.cli.options import Json, LedgerPath, open_ledger
from driftline.errors import UsageError

if TYPE_CHECKING:
    from driftline.ledger import OpenChoice, Reconciled

Side = Literal["here", "there"]


def reconcile(
    remote: Annotated[
        str, typer.Argument(metavar="REMOTE", help="The other copy: a bare repository, or a git address.")
    ],
    choose: Annotated[
        list[str] | None,
        typer.Option(
            "--choose", metavar="KEY=SIDE", help="Settle a choice: here or there; *=here all of them."
        ),
    ] = None,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> int:
    """Bring two copies of a ledger together.

    What each changed on its own is joined, parameter by parameter; no version is lost or renamed. What both
    changed differently is yours to choose, and until then nothing is written.
    """
    result = open_ledger(ledger).reconcile(remote, choose=dict(_settled(choice) for choice in choose or []))
    if as_json:
        say.document(result.json())
    else:
        say.lines(_told(result))
    return 2 if result.choices else 0


def _settled(choice: str) -> tuple[str, Side]:
    key, equals, side = choice.rpartition("=")
    if not equals or side not in ("here", "there"):
        raise UsageError(
            "bad-choice", f"{choice!r}: expected KEY=here or KEY=there", hint="tram-fog.curve.slope=here"
        )
    return key, cast(Side, side)


def _told(result: Reconciled) -> Iterator[str]:
    if result.choices:
        yield "nothing is written yet: both copies changed these"
        yield from say.table([_row(choice) for choice in result.choices])
        yield f"decide each with --choose, for example --choose {result.choices[0].key}=here"
        return
    for refs, what in ((result.received, "came in"), (result.sent, "went out"), (result.merged, "joined")):
        if refs:
            yield f"{what}: {', '.join(refs)}"
    if not (result.received or result.sent or result.merged):
        yield "nothing new on either side"
    if not result.pushed:
        yield f"the other copy does not have everything yet: {result.reason}"


def _row(choice: OpenChoice) -> tuple[str, str, str]:
    return f"  {choice.key}", f"here {_value(choice.here)}", f"there {_value(choice.there)} {choice.unit}"


def _value(value: Any) -> str:
    return "absent" if value is None else f"{value:g}" if isinstance(value, float) else str(value)
