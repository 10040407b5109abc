"""What a print will be before it is made: the same in the plan and in the worker."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from driftline.batch.order import Form, Look
from driftline.pipeline import EDITION
from driftline.prints import Making
from driftline.recipe import (
    NO_CORRECTION,
    Correction,
    Likeness,
    Recipe,
    identity,
    likeness_name,
    parse_correction,
    parse_likeness,
    parse_recipe,
)

if TYPE_CHECKING:
    from driftline.pipeline import Frame


def recipe_of(look: Look) -> Recipe:
    """The recipe of a look."""
    return parse_recipe(look.text, source=look.ref or look.name)


def correction_of(text: str | None, frame: object) -> Correction:
    """A frame's correction; without a text nothing is corrected."""
    return NO_CORRECTION if text is None else parse_correction(text, source=f"correction of {frame}")


def likeness_among(likenesses: Mapping[str, str], frame: Frame) -> Likeness | None:
    """The likeness of the frame's camera and setting, among texts by name; None if there is none.

    Raises
    ------
    DriftlineError
        The frame cannot be read, or the text is no likeness.
    """
    if not likenesses:
        return None
    from driftline.drift.camera import camera_of  # noqa: PLC0415 (loads the kernels)

    name = likeness_name(*camera_of(frame))
    text = likenesses.get(name)
    return None if text is None else parse_likeness(text, source=f"likeness {name}")


def making_of(
    fingerprint: str,
    look: Look,
    recipe: Recipe,
    form: Form,
    *,
    correction: str | None = None,
    likeness: Likeness | None = None,
) -> Making:
    """What a print of this frame would be, before it is made."""
    return Making(
        fingerprint=fingerprint,
        recipe=look.name,
        identity=identity(recipe),
        ref=look.ref,
        correction=correction,
        likeness=f"{likeness.name}:{likeness.digest()}" if likeness else None,
        edition=EDITION,
        space=form.space,
        long_edge=form.long_edge,
        acutance=form.acutance,
        encoding=form.encoding,
        quality=form.quality if form.encoding == "jpeg" else None,
        ceiling_bytes=form.ceiling_bytes if form.encoding == "jpeg" else None,
    )
