"""``driftline apply``."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from driftline.cli import say
from driftline.cli.options import Frames, Json, LedgerPath, is_file_argument, open_ledger
from driftline.errors import LedgerError

if TYPE_CHECKING:
    from driftline.batch import RunResult
    from driftline.ledger import Ledger
    from driftline.pages import Print


def apply(
    recipe: Annotated[str, typer.Argument(metavar="R", help="A recipe: name, name@version or file.")],
    frames: Frames,
    out: Annotated[Path, typer.Option("--out", metavar="DIR", help="Where the prints go.")],
    size: Annotated[
        int | None, typer.Option("--size", help="Longer side in pixels; absent: each frame's own.")
    ] = None,
    quality: Annotated[int, typer.Option("--quality", help="JPEG quality, 1 to 100.")] = 92,
    space: Annotated[
        Literal["srgb", "display-p3"], typer.Option("--space", help="Colour space of the prints.")
    ] = "srgb",
    workers: Annotated[int | None, typer.Option("--workers", help="Processes; absent: one a core.")] = None,
    refresh: Annotated[
        bool, typer.Option("--refresh", help="Print anew what was printed with another version or form.")
    ] = False,
    keep_location: Annotated[
        bool, typer.Option("--keep-location", help="Leave in the prints where they were taken.")
    ] = False,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> int:
    """Develop a batch of frames into prints; one bad frame never stops the rest."""
    from driftline import batch  # noqa: PLC0415

    opened = _ledger_for(recipe, ledger)
    if opened and not is_file_argument(recipe) and "@" not in recipe and opened.working_differs(recipe):
        say.remark(f"{recipe}: the working file differs from the last version; the saved version is used")
    with _progress(quiet=as_json) as progress:
        result = batch.apply(
            opened,
            recipe,
            frames,
            out,
            size=size,
            quality=quality,
            space=space,
            workers=workers,
            refresh=refresh,
            keep_location=keep_location,
            progress=progress,
        )
    say.remark(result.unrecorded)
    if as_json:
        say.document(result.json_document())
    else:
        say.lines(summary(result, out))
    return result.exit_status


def summary(result: RunResult, out: Path) -> Iterator[str]:
    """What a run did, short and exact."""
    made = len(result.prints)
    yield f"{made} print{'s' if made != 1 else ''} in {out}, {result.seconds:.1f} s"
    if result.there:
        yield f"  {len(result.there)} there already"
    if result.older:
        yield f"  {len(result.older)} left as printed with an older version; --refresh prints them again"
    for one in result.prints:
        if one.verdict in ("leaning", "overdone"):
            cause = f", most of it {one.largest.replace('_', ' ')}" if one.largest else ""
            yield f"  look at {Path(one.path).name}: {one.verdict}{cause}"
    if result.failed:
        yield f"  {len(result.failed)} failed:"
    for failure in result.failed:
        yield f"    {Path(failure.frame).name} [{failure.code}] {failure.reason}"


def pictured(result: RunResult) -> list[Print]:
    """The prints of a run for the pages."""
    from driftline.pages import Picture, Print  # noqa: PLC0415

    return [
        Print(
            name=Path(one.path).name,
            frame=Path(one.frame).name,
            ref=one.making.ref or one.making.recipe,
            picture=Picture(
                key=one.making.key(),
                load=Path(one.path).read_bytes,
                alt=f"{Path(one.frame).name}, printed with {one.making.ref or one.making.recipe}",
            ),
            verdict=one.verdict,
        )
        for one in result.prints
    ]


def _ledger_for(recipe: str, path: Path | None) -> Ledger | None:
    """The ledger; none is needed for a recipe file."""
    try:
        return open_ledger(path)
    except LedgerError as error:
        if path or error.code != "ledger-not-found" or not is_file_argument(recipe):
            raise
        return None


@contextmanager
def _progress(*, quiet: bool) -> Iterator[Callable[[int, int], None] | None]:
    """A bar on the terminal while frames are developed; nothing when the output is no terminal."""
    if quiet or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console  # noqa: PLC0415
    from rich.progress import Progress  # noqa: PLC0415

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("developing", total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)
