"""Making a print again: finding its frame and its recipe, and saying whether it is the same."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from glob import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from driftline.cli.options import ledger_if_any
from driftline.errors import FrameError, LedgerError, PrintError

if TYPE_CHECKING:
    from driftline.prints import Provenance, Remade, Traced


@dataclass(frozen=True)
class Again:
    """A print made again, and from which file."""

    frame: Path
    target: Path
    remade: Remade

    def json(self) -> dict[str, Any]:
        """As ``trace --remake --json`` gives it."""
        return {
            "path": str(self.target),
            "frame": str(self.frame),
            "same_pixels": self.remade.same_pixels,
            "same_picture": self.remade.same_picture,
            "remarks": list(self.remade.remarks),
        }

    @property
    def in_words(self) -> list[str]:
        """What came out, in a line or two."""
        told = "the same pixels" if self.remade.same_pixels else "other pixels than the print had"
        if self.remade.same_picture:
            told = "the same picture, byte for byte"
        return [f"made again in {self.target}: {told}", *(f"  {remark}" for remark in self.remade.remarks)]


def remade(traced: Traced, path: Path, target: Path, places: list[Path], ledger: Path | None) -> Again:
    """Make a print again from the frame that lies in one of the places, or near the print."""
    from driftline.batch.location import location_of  # noqa: PLC0415
    from driftline.prints import remake  # noqa: PLC0415

    told = traced.provenance
    text = _recipe_text(told, ledger)
    likeness = _likeness_text(told, ledger)
    frame = _frame_of(told, path, places)
    where = location_of(frame) if traced.located else None
    made = remake(traced, frame, target, recipe_text=text, likeness_text=likeness, location=where)
    return Again(frame, target, made)


def _recipe_text(told: Provenance, ledger: Path | None) -> str | None:
    """The version's text; None if the print itself must have it."""
    ref = told.making.ref
    if ref is None or told.recipe_text is not None:
        return None
    opened = ledger_if_any(ledger)
    if opened is None:
        raise LedgerError(
            "ledger-needed",
            f"the print was made with {ref}, and its text is not in the print",
            hint="--ledger DIR, the ledger that holds that version",
        )
    return opened.text(ref)


def _likeness_text(told: Provenance, ledger: Path | None) -> str | None:
    """The text of the likeness that the print names, the one of that time if it was learned anew since.

    If the ledger never had that one, its newest is given, and the print says that it differs.
    """
    from driftline.recipe import parse_likeness  # noqa: PLC0415

    opened = ledger_if_any(ledger) if told.making.likeness else None
    if opened is None or told.making.likeness is None:
        return None
    name, _, digest = told.making.likeness.partition(":")
    texts = opened.likeness_texts(name)
    same = (text for text in texts if parse_likeness(text, source=f"likeness {name}").digest() == digest)
    return next(same, texts[0] if texts else None)


def _frame_of(told: Provenance, path: Path, places: list[Path]) -> Path:
    """The file with the print's fingerprint: by its name near the print, by content in the places given."""
    looked = list(_candidates(told, path, places))
    for frame in looked:
        if _is_it(frame, told):
            return frame
    near = "beside the print, in the folder above it, or in the current one"
    where = f"in {', '.join(map(str, places))}" if places else near
    raise PrintError(
        "frame-not-found",
        f"{told.frame}, fingerprint {told.making.fingerprint[:12]}: not found {where}",
        hint="--frames DIR names the folder it lies in",
    )


def _candidates(told: Provenance, path: Path, places: list[Path]) -> Iterator[Path]:
    from driftline.frames import list_frames  # noqa: PLC0415

    if places:
        found = list_frames(places)
        yield from sorted(found, key=lambda frame: frame.name != told.frame)
        return
    here = path.absolute().parent
    for folder in dict.fromkeys((here, here.parent, Path.cwd())):
        yield folder / told.frame
        yield from sorted(folder.glob(f"*/{escape(told.frame)}"))


def _is_it(frame: Path, told: Provenance) -> bool:
    from driftline.frames import RawFrame  # noqa: PLC0415

    try:
        candidate = RawFrame(frame)
        if told.quick is not None and candidate.quick_fingerprint() != told.quick:
            return False
        return candidate.fingerprint() == told.making.fingerprint
    except FrameError:
        return False
