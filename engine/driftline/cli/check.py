"""``driftline check``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from driftline.cli import say
from driftline.cli.options import Frames, Json, LedgerPath, Look, ask_recipe
from driftline.errors import DriftlineError, FrameError, UsageError

if TYPE_CHECKING:
    from driftline.drift import Checked
    from driftline.recipe import Recipe


def check(
    frames: Frames,
    recipe: Look,
    difference_map: Annotated[
        Path | None,
        typer.Option("--map", metavar="FILE", help="Also draw where the edit differs, as a PNG."),
    ] = None,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> int:
    """Measure how far a recipe takes frames from their camera renderings, by cause."""
    from driftline.frames import list_frames  # noqa: PLC0415

    asked = ask_recipe(recipe, ledger, working=True)
    say.remark(asked.remark)
    paths = list_frames(frames)
    if difference_map and len(paths) != 1:
        raise UsageError(
            "map-of-many",
            f"--map with {len(paths)} frames; one is expected",
            hint="check one frame at a time",
        )
    bands = _bands(ledger)
    results = [_one(path, asked.recipe, bands, difference_map) for path in paths]
    failed = sum("error" in result and bool(result["error"]) for result in results)
    if as_json:
        say.document({"recipe": asked.label, "frames": [_json(result) for result in results]})
    else:
        for result in results:
            say.lines(_told(result, asked.label))
    return 1 if failed else 0


def _bands(ledger: Path | None) -> Any:
    """The ledger's bands, or None for the defaults where there is no ledger."""
    from driftline.cli.options import open_ledger  # noqa: PLC0415

    try:
        return open_ledger(ledger).settings().bands
    except DriftlineError as error:
        if ledger or error.code != "ledger-not-found":
            raise
        return None


def _one(path: Path, recipe: Recipe, bands: Any, difference_map: Path | None) -> dict[str, Any]:
    from driftline.drift import check_frame  # noqa: PLC0415
    from driftline.pipeline import open_frame  # noqa: PLC0415

    try:
        frame = open_frame(path)
        checked = check_frame(frame, recipe, bands=bands)
        if difference_map:
            _draw(frame, recipe, difference_map)
    except FrameError as error:
        return {"path": path, "checked": None, "error": error}
    return {"path": path, "checked": checked, "error": None}


def _draw(frame: Any, recipe: Recipe, target: Path) -> None:
    from PIL import Image  # noqa: PLC0415

    from driftline.drift import difference_map  # noqa: PLC0415
    from driftline.prints import write_new  # noqa: PLC0415

    picture = difference_map(frame, recipe)
    write_new(target, lambda file: Image.fromarray(picture).save(file, "png"))


def _json(result: dict[str, Any]) -> dict[str, Any]:
    checked: Checked | None = result["checked"]
    error: FrameError | None = result["error"]
    return {
        "path": str(result["path"]),
        **(checked.json() if checked else {"verdict": None, "largest": None, "causes": {}}),
        "error": {"code": error.code, "reason": error.message, "hint": error.hint} if error else None,
    }


def _told(result: dict[str, Any], label: str) -> list[str]:
    from driftline.drift import in_table, in_words  # noqa: PLC0415

    checked: Checked | None = result["checked"]
    if checked is None:
        return result["error"].report().splitlines()
    head = f"{result['path'].name} with {label}: {checked.verdict}"
    return [head, *(f"  {line}" for line in in_words(checked)), *(f"  {line}" for line in in_table(checked))]
