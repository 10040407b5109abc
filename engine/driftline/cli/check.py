"""``driftline check``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

import typer

from driftline.cli import say
from driftline.cli.asked import ask_recipe
from driftline.cli.options import Frames, Json, LedgerPath, Look, ledger_if_any
from driftline.errors import FrameError, UsageError

if TYPE_CHECKING:
    from driftline.drift import Checked
    from driftline.recipe import Recipe


class _Result(NamedTuple):
    path: Path
    checked: Checked | None
    error: FrameError | None


def check(
    frames: Frames,
    recipe: Look,
    difference_map: Annotated[
        Path | None,
        typer.Option("--map", metavar="FILE", help="Also draw where the picture differs, as a PNG."),
    ] = None,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> int:
    """Measure how far a recipe goes from the camera's own picture.

    By cause, in three columns: floor is what our neutral rendering differs by, edit what the recipe adds,
    total both together. Only what the recipe adds is judged.
    """
    from driftline.batch.plan import frames_of  # noqa: PLC0415

    asked = ask_recipe(recipe, ledger)
    opened = ledger_if_any(ledger)
    bands = opened.settings().bands if opened else None
    paths = frames_of(frames)
    if difference_map:
        _check_map(difference_map, paths)
    say.remark(asked.remark)
    results = [_one(path, asked.recipe, bands, difference_map) for path in paths]
    if as_json:
        say.document({"recipe": asked.label, "frames": [_json(result) for result in results]})
    for result in [] if as_json else results:
        _tell(result, asked.label)
    return 1 if any(result.error for result in results) else 0


def _check_map(target: Path, paths: list[Path]) -> None:
    if len(paths) != 1:
        raise UsageError(
            "map-of-many", f"--map with {len(paths)} frames; one is expected", hint="one frame at a time"
        )
    if target.exists() or not target.absolute().parent.is_dir():
        what = "something stands there already" if target.exists() else "there is no such folder"
        raise UsageError("map-target", f"{target}: {what}", hint="a new file in a folder that is there")


def _one(path: Path, recipe: Recipe, bands: Any, target: Path | None) -> _Result:
    from driftline.drift import check_frame, difference_map  # noqa: PLC0415
    from driftline.pipeline import open_frame  # noqa: PLC0415

    try:
        frame = open_frame(path)
        checked = check_frame(frame, recipe, bands=bands)
        if target:
            _draw(difference_map(frame, recipe), target)
    except FrameError as error:
        return _Result(path, None, error)
    return _Result(path, checked, None)


def _draw(picture: Any, target: Path) -> None:
    from PIL import Image  # noqa: PLC0415

    from driftline.prints import write_new  # noqa: PLC0415

    write_new(target, lambda file: Image.fromarray(picture).save(file, "png"))


def _json(result: _Result) -> dict[str, Any]:
    error = result.error
    return {
        "path": str(result.path),
        **(result.checked.json() if result.checked else {"verdict": None, "largest": None, "causes": {}}),
        "error": {"code": error.code, "reason": error.message, "hint": error.hint} if error else None,
    }


def _tell(result: _Result, label: str) -> None:
    from driftline.drift import in_table, in_words  # noqa: PLC0415

    if result.error:
        say.trouble(result.error.report())
    if result.checked:
        say.lines([f"{result.path.name} with {label}: {result.checked.verdict}"])
        say.lines(f"  {line}" for line in (*in_words(result.checked), *in_table(result.checked)))
