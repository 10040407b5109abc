"""From a print back to what made it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from driftline.errors import PrintError
from driftline.frames.tags import exif_of_file
from driftline.prints.jpeg import picture_digest, xmp_packets
from driftline.prints.provenance import Provenance, pixel_digest
from driftline.prints.xmp import Credit, credit_in, provenance_in

FILE_LIMIT: Final = 1 << 30
_HEAD: Final = 1 << 18
_JPEG: Final = b"\xff\xd8"
_TIFF: Final = (b"II*\0", b"MM\0*")


@dataclass(frozen=True)
class Traced:
    """What a print says of itself, and whether the picture in it is the one driftline wrote.

    Attributes
    ----------
    located
        Whether it says where the frame was taken, in its EXIF.
    long_edge
        Pixels on the longer side, as its EXIF says; a frame is never enlarged to what was asked for.
    """

    provenance: Provenance
    intact: bool
    credit: Credit
    located: bool = False
    long_edge: int | None = None

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
    try:
        if content.startswith(_JPEG):
            return _traced(path, xmp_packets(content), lambda: picture_digest(content))
        if content.startswith(_TIFF):
            return _traced(path, _tiff_packets(path), lambda: _tiff_digest(path))
    except PrintError as error:
        raise _naming(path, error) from error
    raise _not_a_print(path)


def glance(path: Path) -> Provenance | None:
    """What a file in a folder says made it, from its first bytes alone; None if it is no print of ours.

    Whether the picture is whole and ours is not looked at: see :func:`read_provenance`.
    """
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD)
        packets = _tiff_packets(path) if head.startswith(_TIFF) else xmp_packets(head)
        return next(filter(None, map(provenance_in, packets)), None)
    except (OSError, PrintError):
        return None


def says_where(path: Path) -> bool:
    """Whether a print says where its frame was taken; its EXIF alone tells, whoever wrote it there."""
    return any(name.startswith("GPS GPSL") for name in exif_of_file(path))


def _long_edge(path: Path) -> int | None:
    tags = exif_of_file(path)
    sides = [str(tags.get(f"EXIF ExifImage{side}", "")) for side in ("Width", "Length")]
    return max(int(side) for side in sides) if all(side.isdecimal() for side in sides) else None


def _traced(path: Path, packets: Iterable[bytes], digest: Callable[[], str]) -> Traced:
    """What the first packet of ours says, compared with the picture."""
    for packet in packets:
        provenance = provenance_in(packet)
        if provenance is not None:
            intact = digest() == provenance.picture
            return Traced(provenance, intact, credit_in(packet), says_where(path), _long_edge(path))
    raise _not_a_print(path)


def _tiff_packets(path: Path) -> list[bytes]:
    from driftline.prints import tiff  # noqa: PLC0415 (only where a TIFF is read)

    packet = tiff.xmp_of(path)
    return [packet] if packet else []


def _tiff_digest(path: Path) -> str:
    from driftline.prints import tiff  # noqa: PLC0415 (only where a TIFF is read)

    return pixel_digest(tiff.pixels_of(path))


def _naming(path: Path, error: PrintError) -> PrintError:
    """The error with the path in front, where it is not there yet."""
    named = error.message if str(path) in error.message else f"{path}: {error.message}"
    return PrintError(error.code, named, hint=error.hint)


def _content(path: Path) -> bytes:
    try:
        if path.is_dir():
            raise PrintError("print-missing", f"{path}: a folder, not a print", hint="the path of a print")
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
