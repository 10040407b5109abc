"""Contact sheets of frames, and of a recipe's versions."""

from __future__ import annotations

import base64
import io
import os
from collections.abc import Iterable, Mapping
from concurrent.futures import Executor, Future
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from driftline.batch.asked import likeness_among
from driftline.batch.names import told_names
from driftline.batch.order import Failed
from driftline.batch.plan import frames_of
from driftline.batch.pool import WorkerPool
from driftline.drift import render
from driftline.drift.learning import likeness_of
from driftline.errors import DriftlineError, UsageError
from driftline.ledger import Ledger
from driftline.pipeline import KeptFrame, open_frame
from driftline.prints.sheet import CELL_LIMIT, Cell, contact_sheet, write_sheet
from driftline.recipe import NEUTRAL, parse_recipe

EDGE = 360


def sheet_of_frames(
    frames: Iterable[str | os.PathLike[str]],
    out: str | os.PathLike[str],
    *,
    recipe_text: str | None = None,
    label: str = "",
    likenesses: Mapping[str, str] | None = None,
    workers: int | None = None,
    pool: Executor | None = None,
) -> list[Failed]:
    """Write a contact sheet of frames, developed plain or with a recipe.

    Parameters
    ----------
    frames
        Raw files and folders of them.
    out
        The sheet, ``.jpg`` or ``.png``; nothing that stands there is overwritten.
    recipe_text
        The look; None: plain.
    label
        What the look is called, for the title.
    likenesses, workers, pool
        As for a batch.

    Returns
    -------
    list
        The frames that could not be developed, and why; their place on the sheet says it, too.

    Raises
    ------
    DriftlineError
        No frames, too many, or the sheet cannot be written.
    """
    wanted = frames_of(frames)
    if len(wanted) > CELL_LIMIT:
        raise UsageError(
            "sheet-too-large", f"{len(wanted)} frames; at most {CELL_LIMIT}", hint="a part of them"
        )
    own = None if pool else WorkerPool(min(workers or os.cpu_count() or 1, len(wanted)))
    executor = pool or own
    assert executor is not None
    known = dict(likenesses or {})
    try:
        futures = [
            executor.submit(small_picture, str(frame.absolute()), recipe_text, known) for frame in wanted
        ]
        told = zip(wanted, told_names(wanted), futures, strict=True)
        shown = [_cell(frame, name, future) for frame, name, future in told]
    finally:
        if own:
            own.kill()
    write_sheet(Path(out), contact_sheet([cell for cell, _ in shown], edge=EDGE, title=label or "plain"))
    return [failed for _, failed in shown if failed]


def sheet_of_versions(ledger: Ledger, recipe: str, out: str | os.PathLike[str]) -> int:
    """Write a contact sheet of a recipe: one row a kept proof, one column a version, oldest first.

    Returns
    -------
    int
        How many versions it shows.

    Raises
    ------
    DriftlineError
        No such recipe; ``no-proofs`` if it has none that are kept.
    """
    versions = list(reversed(ledger.versions(recipe)))
    kept = set(ledger.kept_proofs())
    proofs = [fingerprint for fingerprint in ledger.proofs(recipe) if fingerprint in kept]
    if not proofs:
        raise UsageError(
            "no-proofs", f"{recipe} has no kept proofs to show it on", hint=f"driftline proof {recipe} FRAME"
        )
    cells = []
    for fingerprint in proofs:
        frame = KeptFrame(ledger.read_proof(fingerprint))
        frame.likeness = likeness_of(ledger, frame)
        for version in versions:
            picture = render(frame, ledger.read(version.ref), long_edge=EDGE, depth=8)
            cells.append(Cell(picture, (version.ref, version.note or version.when[:10], frame.path.name)))
    write_sheet(Path(out), contact_sheet(cells, edge=EDGE, columns=len(versions), title=recipe))
    return len(versions)


def small_picture(frame_path: str, recipe_text: str | None, likenesses: dict[str, str]) -> dict[str, str]:
    """A frame at the size of a contact sheet and its caption, in JSON: what a worker does."""
    frame = open_frame(frame_path)
    frame.likeness = likeness_among(likenesses, frame)
    recipe = parse_recipe(recipe_text, source="recipe") if recipe_text is not None else NEUTRAL
    picture = render(frame, recipe, long_edge=EDGE, depth=8)
    content = io.BytesIO()
    Image.fromarray(picture).save(content, "PNG", compress_level=1)
    return {"png": base64.b64encode(content.getvalue()).decode(), "told": _told(frame.exposure())}


def _cell(frame: Path, name: str, future: Future[dict[str, str]]) -> tuple[Cell, Failed | None]:
    try:
        result = future.result()
    except DriftlineError as error:
        reason = error.message.removeprefix(f"{frame.absolute()}: ")
        failed = Failed(frame=str(frame), code=error.code, reason=f"{frame}: {reason}", hint=error.hint)
        return Cell(None, (name, reason)), failed
    return Cell(_pixels(result["png"]), (name, result["told"])), None


def _pixels(png: str) -> NDArray[np.uint8]:
    with Image.open(io.BytesIO(base64.b64decode(png))) as image:
        return np.asarray(image.convert("RGB"))


def _told(seen: Any) -> str:
    """The exposure in one line; what is not known is left out."""
    shutter = seen.shutter_s
    parts = [
        (f"1/{round(1 / shutter)} s" if shutter < 0.5 else f"{shutter:g} s") if shutter else "",
        f"f/{seen.aperture:.2g}" if seen.aperture else "",
        f"ISO {seen.iso:g}" if seen.iso else "",
        f"{seen.focal_mm:g} mm" if seen.focal_mm else "",
    ]
    return "  ".join(part for part in parts if part)
