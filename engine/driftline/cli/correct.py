"""``driftline correct``."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from driftline.cli import say
from driftline.cli.options import Json, LedgerPath, open_ledger
from driftline.errors import FrameError, RecipeError

if TYPE_CHECKING:
    from driftline.recipe import Correction

Four = tuple[float, float, float, float]


def correct(
    frame: Annotated[Path, typer.Argument(metavar="FRAME", help="A raw file.", show_default=False)],
    ev: Annotated[float | None, typer.Option("--ev", metavar="EV", help="Exposure; +1 doubles it.")] = None,
    shift: Annotated[
        float | None, typer.Option("--shift", metavar="MIRED", help="White; + is warmer.")
    ] = None,
    crop: Annotated[
        Four | None,
        typer.Option("--crop", metavar="L T R B", help="Edges kept, as fractions from the top left."),
    ] = None,
    turn: Annotated[
        float | None, typer.Option("--turn", metavar="DEGREES", help="Turn the picture; + is clockwise.")
    ] = None,
    dodge: Annotated[
        Four | None,
        typer.Option("--dodge", metavar="X Y R EV", help="One soft spot: centre, radius, exposure."),
    ] = None,
    clear: Annotated[bool, typer.Option("--clear", help="Take the frame's correction back first.")] = False,
    ledger: LedgerPath = None,
    as_json: Json = False,
) -> None:
    """Put one frame right, beside the look: exposure, white, crop, turn, one soft dodge.

    It is kept in the ledger and applied whenever that frame is printed; no recipe knows of it.
    """
    from driftline.frames import sight  # noqa: PLC0415
    from driftline.pipeline import open_frame  # noqa: PLC0415
    from driftline.recipe import NO_CORRECTION, correction_text, parse_correction  # noqa: PLC0415

    opened = open_ledger(ledger)
    fingerprint = open_frame(frame).fingerprint()
    if sight(frame).problem:
        raise FrameError(
            "frame-not-raw",
            f"{frame}: not a raw file, so it is never printed",
            hint="the raw file of that exposure",
        )
    before = None if clear else opened.correction(fingerprint)
    start = parse_correction(before, source=f"correction of {frame}") if before else NO_CORRECTION
    asked = {"ev": ev, "shift": shift, "crop": crop, "turn": turn, "dodge": dodge}
    values = {**dict(start), **{key: value for key, value in asked.items() if value is not None}}
    correction = _checked(_text(values), frame)
    opened.keep_correction(fingerprint, correction_text(correction) or None, note=frame.name)
    if as_json:
        say.document({"frame": str(frame), "correction": correction.model_dump(mode="json")})
        return
    say.lines([f"{frame.name}: {in_words(correction)}"])


def _checked(text: str, frame: Path) -> Correction:
    """The correction in a text that nobody wrote: no word of its lines."""
    from driftline.recipe import parse_correction  # noqa: PLC0415

    try:
        return parse_correction(text, source=f"correction of {frame}")
    except RecipeError as error:
        told = re.sub(r", line \d+", "", error.message)
        raise RecipeError(error.code, told, hint=error.hint) from error


def _text(values: dict[str, Any]) -> str:
    """The correction as text, so that what was asked is held against its ranges in one place."""
    kept = {key: value for key, value in values.items() if value is not None}
    return "".join(f"{key} = {list(v) if isinstance(v, tuple) else v}\n" for key, v in kept.items())


def in_words(correction: Correction) -> str:
    """What is put right, in one line."""
    from driftline.recipe import NO_CORRECTION  # noqa: PLC0415

    parts = [
        f"exposure {correction.ev:+.2f} EV" if correction.ev else "",
        f"white {correction.shift:+g} mired" if correction.shift else "",
        f"turned {correction.turn:+g}°" if correction.turn else "",
        "cropped to {:g}, {:g} – {:g}, {:g}".format(*correction.crop)
        if correction.crop != NO_CORRECTION.crop
        else "",
        "dodged {3:+g} EV at {0:g}, {1:g} within {2:g}".format(*correction.dodge) if correction.dodge else "",
    ]
    return ", ".join(part for part in parts if part) or "nothing to put right"
