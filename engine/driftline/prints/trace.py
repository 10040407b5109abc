"""From a print back to what made it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from driftline.errors import PrintError
from driftline.prints.jpeg import picture_digest, xmp_packets
from driftline.prints.provenance import Provenance
from driftline.prints.xmp import provenance_in

FILE_LIMIT: Final = 1 << 30
_HEAD: Final = 1 << 18


@dataclass(frozen=True)
class Traced:
    """What a print says of itself, and whether the picture in it is the one driftline wrote."""

    provenance: Provenance
    intact: bool

    @property
    def in_words(self) -> str:
        """One sentence on the state of the picture."""
        if self.intact:
            return "the picture is the one driftline wrote"
        return "the picture was saved again or changed elsewhere; only what is said about it is ours"


def read_provenance(path: Path) -> Traced:
    """What made a print, wherever it lies and whatever it is called now.

    Parameters
    ----------
    path
        A print, or any other file.

    Returns
    -------
    Traced
        ``intact`` compares the stored picture with the digest kept in the print. It guards against mistakes,
        not against forgery: whoever can write a file can write both.

    Raises
    ------
    PrintError
        ``not-a-print`` if the file carries no provenance of ours; ``print-broken`` if it is not whole;
        ``provenance-broken``, ``provenance-newer``; ``print-missing``, ``print-unreadable``.
    """
    content = _content(path)
    if content[:2] != b"\xff\xd8":
        raise _not_a_print(path)
    try:
        for packet in xmp_packets(content):
            provenance = provenance_in(packet)
            if provenance is not None:
                return Traced(provenance, picture_digest(content) == provenance.picture)
    except PrintError as error:
        raise PrintError(error.code, f"{path}: {error.message}", hint=error.hint) from error
    raise _not_a_print(path)


def glance(path: Path) -> Provenance | None:
    """What a file in a folder says made it, from its first bytes alone; None if it is no print of ours.

    Whether the picture is whole and ours is not looked at: see :func:`read_provenance`.
    """
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD)
        return next(filter(None, map(provenance_in, xmp_packets(head))), None)
    except (OSError, PrintError):
        return None


def _content(path: Path) -> bytes:
    try:
        if not path.is_file():
            raise PrintError("print-missing", f"{path}: no such file", hint="the path of a print")
        if path.stat().st_size > FILE_LIMIT:
            raise _not_a_print(path)
        return path.read_bytes()
    except OSError as error:
        raise PrintError(
            "print-unreadable", f"{path}: {error.strerror or error}", hint="a file that can be read"
        ) from error


def _not_a_print(path: Path) -> PrintError:
    return PrintError(
        "not-a-print",
        f"{path}: carries no provenance of driftline; either it is not one of our prints, "
        "or the metadata were taken out",
        hint="the print as it was written, or its record in the ledger",
    )
