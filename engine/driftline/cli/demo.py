"""``driftline demo``: the whole job on the demo shoot, from an empty folder."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from driftline.cli import say
from driftline.cli.apply import pictured, summary
from driftline.cli.options import Json
from driftline.cli.save import report
from driftline.errors import UsageError

if TYPE_CHECKING:
    from driftline.ledger import Ledger, Saved

RECIPE, FORK = "open-platform", "platform-late"
PRINT_EDGE = 1000


def demo(
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="DIR", help="A new or empty folder; absent: a temporary one."),
    ] = None,
    as_json: Json = False,
) -> int:
    """Do the whole job on the demo shoot: a ledger, versions, their drift, prints, a page."""
    from driftline import batch  # noqa: PLC0415
    from driftline.ledger import Ledger  # noqa: PLC0415
    from driftline.pages import ledger_page  # noqa: PLC0415
    from driftline.starter import demo_frames, starter_recipes  # noqa: PLC0415

    folder = _folder(out)
    frames = demo_frames()
    tell = (lambda lines: None) if as_json else say.lines
    ledger = Ledger.create(folder / "ledger", starter_recipes())
    tell([f"a ledger with {len(ledger.recipes())} starter recipes in {ledger.path}"])
    for saved, drift in _versions(ledger, frames):
        tell(report(saved, drift))
    prints = folder / "prints"
    result = batch.apply(ledger, FORK, frames, prints, size=PRINT_EDGE)
    tell(summary(result, prints))
    page = ledger_page(ledger, folder / "page", prints=pictured(result))
    tell([f"the history as a page: {page}"])
    if as_json:
        versions = [version.ref for version in ledger.versions() if version.recipe in (RECIPE, FORK)]
        say.document(
            {
                "ledger": str(ledger.path),
                "prints": [one.path for one in result.prints],
                "page": str(page),
                "versions": versions,
            }
        )
    return result.exit_status


def _folder(out: Path | None) -> Path:
    if out is None:
        return Path(tempfile.mkdtemp(prefix="driftline-demo-"))
    out.mkdir(parents=True, exist_ok=True)
    if any(out.iterdir()):
        raise UsageError(
            "demo-folder", f"{out} is not empty; an empty folder is expected", hint="another --out"
        )
    return out.absolute()


def _versions(ledger: Ledger, frames: list[Path]) -> Iterator[tuple[Saved, dict[str, Any] | None]]:
    """Three versions of one recipe and a fork, each measured on the proofs as a photographer would."""
    from driftline.pipeline import open_frame  # noqa: PLC0415

    proofs = [open_frame(path) for path in frames if "noon" in path.stem or "grey" in path.stem][:2]
    yield _edit(
        ledger, RECIPE, {"exposure.ev": 0.10, "curve.toe": -0.10},
        proofs=proofs, note="faces under the awning were too dark",
    )  # fmt: skip
    yield _edit(
        ledger, RECIPE, {"curve.slope": 1.35, "chroma.scale": 1.30},
        note="trying for more punch; too far, see the drift",
    )  # fmt: skip
    yield ledger.fork(f"{RECIPE}@2", FORK, note="the same, for the evening"), None
    ledger.set_proofs(FORK, ledger.proofs(RECIPE))
    yield _edit(
        ledger, FORK, {"white.shift": 8.0, "split.low.hue": 260.0, "split.low.chroma": 0.008},
        note="warm lamps, cold shadows",
    )  # fmt: skip


def _edit(
    ledger: Ledger, name: str, values: dict[str, float], *, note: str, proofs: Any = ()
) -> tuple[Saved, dict[str, Any]]:
    """Change a few parameters of the working text, as in a text editor, and save it measured."""
    from driftline.drift import save_measured  # noqa: PLC0415
    from driftline.recipe import from_parameters, parameters, parse_recipe, recipe_text  # noqa: PLC0415

    text = ledger.working_text(name)
    recipe = parse_recipe(text, source=name)
    edited = from_parameters({**parameters(recipe), **values}, name=recipe.name, about=recipe.about)
    saved, drift, _ = save_measured(ledger, name, recipe_text(edited, base=text), proofs=proofs, note=note)
    return saved, drift
