"""From developed pixels to a file that knows what made it."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.errors import UsageError
from driftline.frames import ExposureData
from driftline.prints.atomic import write_file
from driftline.prints.exif import Exif, Location, exif_of, exif_segment
from driftline.prints.icc import icc_profile
from driftline.prints.jpeg import (
    APP1,
    encode_jpeg_within,
    encoder_name,
    icc_segment,
    picture_digest,
    with_segments,
    xmp_segment,
)
from driftline.prints.provenance import Provenance, pixel_digest
from driftline.prints.xmp import Credit, xmp_packet

_NO_CEILING = 1 << 62


@dataclass(frozen=True)
class Written:
    """A print on disk: where, how large, and what it says of itself."""

    path: Path
    size_bytes: int
    provenance: Provenance


def write_print(
    pixels: NDArray[Any],
    path: Path,
    *,
    provenance: Provenance,
    exposure: ExposureData | None = None,
    credit: Credit = Credit(),  # noqa: B008 (frozen)
    location: Location | None = None,
    replace: bool = False,
) -> Written:
    """Write a print, whole or not at all.

    Parameters
    ----------
    pixels
        (H, W, 3), upright, encoded in the space that ``provenance.making.space`` names: uint8 for a JPEG,
        uint16 for a TIFF.
    path
        Where; its folder is there already.
    provenance
        What made the pixels, and in which form they are wanted (``provenance.making``: encoding, quality,
        ceiling). The encoder's name and the digests of the pixels and of the stored picture are filled in
        here.
    exposure, credit, location
        What the print may say besides; a location only if it was asked for.
    replace
        Take the place of a file that stands there; otherwise that is an error.

    Returns
    -------
    Written
        With the provenance as it stands in the file.

    Raises
    ------
    PrintError
        ``print-exists``, ``disk-full``, ``cannot-write``, ``ceiling-too-small``.
    """
    content, told = encode_print(
        pixels, provenance=provenance, exposure=exposure, credit=credit, location=location
    )
    write_file(path, content, replace=replace)
    return Written(path, len(content), told)


def encode_print(
    pixels: NDArray[Any],
    *,
    provenance: Provenance,
    exposure: ExposureData | None = None,
    credit: Credit = Credit(),  # noqa: B008 (frozen)
    location: Location | None = None,
) -> tuple[bytes, Provenance]:
    """The bytes of a print, and its provenance as it stands in them.

    Parameters
    ----------
    pixels, provenance, exposure, credit, location
        As for :func:`write_print`.

    Raises
    ------
    PrintError
        ``ceiling-too-small``.
    """
    height, width = pixels.shape[:2]
    exif = exif_of(exposure, size=(width, height), space=provenance.making.space, location=location)
    encode = _jpeg if provenance.making.encoding == "jpeg" else _tiff
    return encode(pixels, provenance, exif, credit)


def check_quality(quality: int) -> None:
    """Refuse a JPEG quality outside 1 … 100."""
    if not 1 <= quality <= 100:
        raise UsageError("quality-out-of-range", f"quality {quality}; allowed 1 to 100", hint="92")


def _jpeg(
    pixels: NDArray[Any], provenance: Provenance, exif: Exif, credit: Credit
) -> tuple[bytes, Provenance]:
    making = provenance.making
    assert pixels.dtype == np.uint8
    assert making.quality is not None

    def told(picture: str, developed: str) -> Provenance:
        filled = {"encoder": encoder_name(), "picture": picture, "pixels": developed}
        return provenance.model_copy(update=filled)

    def around(bare: bytes, told: Provenance) -> bytes:
        xmp, icc = xmp_packet(told, credit), icc_profile(making.space)
        return with_segments(bare, [(APP1, exif_segment(exif)), xmp_segment(xmp), icc_segment(icc)])

    metadata_bytes = len(around(b"\xff\xd8", told("0" * 64, "0" * 64))) - 2
    limit = (making.ceiling_bytes or _NO_CEILING) - metadata_bytes
    with ThreadPoolExecutor(1) as beside:
        digest = beside.submit(pixel_digest, pixels)
        bare = encode_jpeg_within(pixels, quality=making.quality, limit_bytes=limit)
        final = told(picture_digest(bare), digest.result())
    return around(bare, final), final


def _tiff(
    pixels: NDArray[Any], provenance: Provenance, exif: Exif, credit: Credit
) -> tuple[bytes, Provenance]:
    from driftline.prints import tiff  # noqa: PLC0415 (only where a TIFF is written)

    assert pixels.dtype == np.uint16
    digest = pixel_digest(pixels)
    told = provenance.model_copy(update={"encoder": tiff.encoder_name(), "picture": digest, "pixels": digest})
    icc = icc_profile(provenance.making.space)
    return tiff.encode_tiff(pixels, exif=exif, xmp=xmp_packet(told, credit), icc=icc), told
