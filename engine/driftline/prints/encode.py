"""From developed pixels to a file that knows what made it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from driftline.errors import UsageError
from driftline.frames import ExposureData
from driftline.prints.atomic import write_file
from driftline.prints.exif import Location, exif_block
from driftline.prints.icc import icc_profile
from driftline.prints.jpeg import (
    APP1,
    encode_jpeg,
    encoder_name,
    icc_segment,
    picture_digest,
    with_segments,
    xmp_segment,
)
from driftline.prints.provenance import Provenance
from driftline.prints.xmp import Credit, xmp_packet


@dataclass(frozen=True)
class Written:
    """A print on disk: where, how large, and what it says of itself."""

    path: Path
    size_bytes: int
    provenance: Provenance


def write_print(
    pixels: NDArray[np.uint8],
    path: Path,
    *,
    provenance: Provenance,
    exposure: ExposureData | None = None,
    credit: Credit = Credit(),  # noqa: B008 (frozen)
    location: Location | None = None,
    quality: int = 92,
    replace: bool = False,
) -> Written:
    """Write a JPEG print, whole or not at all.

    Parameters
    ----------
    pixels
        (H, W, 3) or (H, W) uint8, encoded in the space that ``provenance.making.space`` names, upright.
    path
        Where; its folder is there already.
    provenance
        What made the pixels; encoder and digest of the stored picture are filled in here.
    exposure, credit, location
        What the print may say besides; a location only if it was asked for.
    quality
        1 … 100; typically 92.
    replace
        Take the place of a file that stands there; otherwise that is an error.

    Returns
    -------
    Written
        With the provenance as it stands in the file.

    Raises
    ------
    PrintError
        ``print-exists``, ``disk-full``, ``cannot-write``.
    UsageError
        ``quality-out-of-range``.
    """
    check_quality(quality)
    bare = encode_jpeg(pixels, quality=quality)
    told = provenance.model_copy(update={"encoder": encoder_name(), "picture": picture_digest(bare)})
    space = provenance.making.space
    content = with_segments(
        bare,
        [
            (APP1, exif_block(exposure, size=_width_height(pixels), space=space, location=location)),
            xmp_segment(xmp_packet(told, credit)),
            icc_segment(icc_profile(space)),
        ],
    )
    write_file(path, content, replace=replace)
    return Written(path, len(content), told)


def check_quality(quality: int) -> None:
    """Refuse a JPEG quality outside 1 … 100."""
    if not 1 <= quality <= 100:
        raise UsageError("quality-out-of-range", f"quality {quality}; allowed 1 to 100", hint="92")


def _width_height(pixels: NDArray[Any]) -> tuple[int, int]:
    return pixels.shape[1], pixels.shape[0]
