"""Make a print again from what it says of itself: the same pixels, or a precise word on what is missing."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from driftline.errors import PrintError, UsageError
from driftline.pipeline import EDITION, open_frame
from driftline.prints.encode import Written, write_print
from driftline.prints.exif import Location
from driftline.prints.provenance import Making, Provenance, decoder_name, pixel_digest
from driftline.prints.sized import developed
from driftline.prints.trace import Traced
from driftline.recipe import (
    NO_CORRECTION,
    Correction,
    Likeness,
    Recipe,
    identity,
    parse_correction,
    parse_likeness,
    parse_recipe,
)


@dataclass(frozen=True)
class Remade:
    """A print made again.

    Attributes
    ----------
    same_pixels
        Whether the pixels before encoding are those of the print.
    same_picture
        Whether the encoded picture is, byte for byte; only the same encoder promises that.
    remarks
        Why not, as far as it is known.
    """

    written: Written
    same_pixels: bool
    same_picture: bool
    remarks: tuple[str, ...]


def remake(
    traced: Traced,
    frame_path: Path,
    out: Path,
    *,
    recipe_text: str | None = None,
    likeness_text: str | None = None,
    location: Location | None = None,
) -> Remade:
    """Make a print again.

    Parameters
    ----------
    traced
        From :func:`~driftline.prints.trace.read_provenance`.
    frame_path
        The raw file, wherever it lies now.
    out
        Where the new print goes; nothing that stands there is overwritten.
    recipe_text
        The version's text from the ledger; None: the one in the print.
    likeness_text
        The likeness from the ledger, if the print was made with one.
    location
        Where the frame was taken; written only if the print says it, too.

    Raises
    ------
    PrintError
        ``recipe-missing``, ``recipe-differs``, ``frame-differs``, ``edition-differs``,
        ``likeness-missing``, ``likeness-differs``: each says what is needed instead; and those of writing.
    UsageError
        ``unknown-suffix``: `out` is called like another kind of file.
    FrameError
        The frame cannot be developed.
    """
    told = traced.provenance
    _check_suffix(out, told.making.encoding)
    recipe = _recipe(told, recipe_text)
    _check_making(told.making)
    frame = open_frame(frame_path)
    if frame.fingerprint() != told.making.fingerprint:
        raise PrintError(
            "frame-differs",
            f"{frame_path}: another file than {told.frame} of this print "
            f"(its fingerprint begins {told.making.fingerprint[:12]})",
            hint=f"the file that was {told.frame}",
        )
    frame.likeness = _likeness(told.making.likeness, likeness_text)
    correction = _correction(told.making.correction)
    pixels = developed(frame, recipe, told.making, anchor_ev=told.anchor_ev, correction=correction)
    now = {
        "decoder": decoder_name(),
        "mosaic": pixel_digest(frame.sensor().values),
        "pixels": pixel_digest(pixels),
    }
    written = write_print(
        pixels,
        out,
        provenance=told.model_copy(update=now),
        exposure=frame.exposure(),
        credit=traced.credit,
        location=location if traced.located else None,
    )
    return Remade(
        written=written,
        same_pixels=now["pixels"] == told.pixels,
        same_picture=written.provenance.picture == told.picture,
        remarks=(*_remarks(told, written.provenance), *_unlocated(traced, location)),
    )


def _unlocated(traced: Traced, location: Location | None) -> list[str]:
    """A word on a location that the print has and the new one has not."""
    if not traced.located or location is not None:
        return []
    return ["the print says where it was taken, its frame does not: the new print does not say it"]


def _check_suffix(out: Path, encoding: str) -> None:
    """A suffix, if there is one, says what the file is."""
    known = {"jpeg": (".jpg", ".jpeg"), "tiff": (".tif", ".tiff")}[encoding]
    if out.suffix and out.suffix.lower() not in known:
        raise UsageError(
            "unknown-suffix", f"{out}: the print is a {encoding.upper()}", hint=f"{out.stem}{known[0]}"
        )


def _recipe(told: Provenance, text: str | None) -> Recipe:
    known = text if text is not None else told.recipe_text
    name = told.making.ref or told.making.recipe
    if known is None:
        raise PrintError(
            "recipe-missing",
            f"the print was made with {name}, and its text is not in the print",
            hint="the ledger that holds it",
        )
    recipe = parse_recipe(known, source=name)
    if identity(recipe) != told.making.identity:
        raise PrintError(
            "recipe-differs", f"{name} here is not the text this print was made with", hint="another ledger"
        )
    return recipe


def _check_making(making: Making) -> None:
    if making.edition != EDITION:
        raise PrintError(
            "edition-differs",
            f"the print was made by edition {making.edition} of the pipeline; this driftline has {EDITION}",
            hint="a driftline with that edition",
        )


def _likeness(told: str | None, text: str | None) -> Likeness | None:
    """The likeness a print names, ``name:digest``, from its text."""
    if told is None:
        return None
    name, _, digest = told.partition(":")
    if text is None:
        raise PrintError(
            "likeness-missing",
            f"the print was made with the likeness {told}",
            hint="the ledger that holds it",
        )
    likeness = parse_likeness(text, source=f"likeness {name}")
    if likeness.digest() != digest:
        raise PrintError(
            "likeness-differs",
            f"the likeness {name} was learned anew since (it was {digest}, it is {likeness.digest()})",
            hint=f"git log -- likenesses/{name}.toml in the ledger finds the one of that time",
        )
    return likeness


def _correction(text: str | None) -> Correction:
    return parse_correction(text, source="the print's correction") if text else NO_CORRECTION


def _remarks(told: Provenance, now: Provenance) -> list[str]:
    """What differs, from the sensor values on."""
    if now.mosaic != told.mosaic:
        return [f"the sensor values are decoded by {now.decoder} here, differently than by {told.decoder}"]
    if now.pixels != told.pixels:
        return ["the same sensor values gave other pixels: this is a defect, please report it"]
    if now.picture != told.picture:
        return [f"equal pixels, encoded by {now.encoder} instead of {told.encoder}"]
    return []
