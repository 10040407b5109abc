"""``driftline demo``: the whole job on the demo shoot, from an empty folder."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from driftline.cli import say
from driftline.cli.demo_story import FORK, RECIPE, tell_story
from driftline.cli.options import Json
from driftline.cli.run_report import pictured, summary
from driftline.cli.save import report
from driftline.errors import UsageError

if TYPE_CHECKING:
    from driftline.batch import RunResult
    from driftline.ledger import Ledger

PRINT_EDGE = 1000


def demo(
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="DIR", help="A new or empty folder; absent: a temporary one."),
    ] = None,
    as_json: Json = False,
) -> int:
    """Do the whole job once, on a shoot of our own.

    It leaves a ledger with versions and a fork, each with its drift, a batch of prints, and the history as a
    page.
    """
    from driftline import batch  # noqa: PLC0415
    from driftline.ledger import Ledger  # noqa: PLC0415
    from driftline.pages import ledger_page  # noqa: PLC0415
    from driftline.starter import demo_frames, starter_recipes  # noqa: PLC0415

    folder, frames = _folder(out), demo_frames()
    tell = (lambda lines: None) if as_json else say.lines
    ledger = Ledger.create(folder / "ledger", starter_recipes())
    tell([f"a ledger with {len(ledger.recipes())} recipes to start from: {ledger.path}"])
    for measured in tell_story(ledger, frames):
        tell(report(measured))
    prints = folder / "prints"
    result = batch.apply(ledger, FORK, frames, prints, size=PRINT_EDGE)
    tell(summary(result, prints))
    page = ledger_page(ledger, folder / "page", prints=pictured(result))
    tell([f"the history as a page: {page}"])
    if as_json:
        say.document(_document(ledger, result, page))
    return result.exit_status


def _folder(out: Path | None) -> Path:
    if out is None:
        return Path(tempfile.mkdtemp(prefix="driftline-demo-"))
    if out.exists() and (not out.is_dir() or any(out.iterdir())):
        raise UsageError(
            "demo-folder", f"{out}: not an empty folder", hint="another --out, or none for a temporary one"
        )
    out.mkdir(parents=True, exist_ok=True)
    return out.absolute()


def _document(ledger: Ledger, result: RunResult, page: Path) -> dict[str, Any]:
    versions = [version.json() for version in ledger.versions() if version.recipe in (RECIPE, FORK)]
    run = result.json_document()
    return {
        "ledger": str(ledger.path),
        "prints": run["prints"],
        "failed": run["failed"],
        "page": str(page),
        "versions": versions,
    }
