"""``driftline check``."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from driftline.cli import say
from driftline.cli.asked import ask_recipe
from driftline.cli.checked import Outcome
from driftline.cli.options import Frames, Json, LedgerPath, Look, ledger_if_any
from driftline.errors import FrameError, UsageError

if TYPE_CHECKING:
    from driftline.ledger import Ledger
    from driftline.recipe import Recipe


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
    from driftline.drift import past_of  # noqa: PLC0415

    asked = ask_recipe(recipe, ledger)
    opened = ledger_if_any(ledger)
    bands = opened.settings().bands if opened else None
    paths = frames_of(frames)
    if difference_map:
        _check_map(difference_map, paths)
    say.remark(asked.remark)
    past = past_of(opened, asked.name, but=asked.label) if opened else None
    results = []
    for path in paths:
        one = _one(opened, path, asked.recipe, bands, difference_map)
        results.append(one._replace(past=past))
        if not as_json:
            results[-1].tell(asked.label)
    if as_json:
        say.document({"recipe": asked.label, "frames": [result.json() for result in results]})
    return 1 if any(result.error for result in results) else 0


def _check_map(target: Path, paths: list[Path]) -> None:
    if len(paths) != 1:
        raise UsageError(
            "map-of-many", f"--map with {len(paths)} frames; one is expected", hint="one frame at a time"
        )
    if target.exists() or not target.absolute().parent.is_dir():
        what = "something stands there already" if target.exists() else "there is no such folder"
        raise UsageError("map-target", f"{target}: {what}", hint="a new file in a folder that is there")


def _one(ledger: Ledger | None, path: Path, recipe: Recipe, bands: Any, target: Path | None) -> Outcome:
    from driftline.drift import check_frame, difference_map, explained, frame_in  # noqa: PLC0415

    try:
        frame = frame_in(ledger, path)
        checked = check_frame(frame, recipe, bands=bands)
        standing_out = checked.verdict in ("leaning", "overdone")
        why = explained(frame, recipe, checked, bands=bands) if standing_out else None
        if target:
            _draw(difference_map(frame, recipe), target)
    except FrameError as error:
        return Outcome(path, None, error)
    return Outcome(path, checked, None, why)


def _draw(picture: Any, target: Path) -> None:
    from PIL import Image  # noqa: PLC0415

    from driftline.prints import write_new  # noqa: PLC0415

    write_new(target, lambda file: Image.fromarray(picture).save(file, "png"))
