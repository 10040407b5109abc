"""Where a frame was taken; read only when a print shall tell."""

from __future__ import annotations

from pathlib import Path

from driftline.frames.tags import exif_of_file, number
from driftline.prints import Location


def location_of(path: Path) -> Location | None:
    """The location in a frame's EXIF; None if there is none."""
    from exifread.utils import get_gps_coords  # noqa: PLC0415 (only where a file is read)

    tags = dict(exif_of_file(path))
    altitude, below = number(tags, "GPS GPSAltitude"), number(tags, "GPS GPSAltitudeRef")
    try:
        place = get_gps_coords(tags)
    except (TypeError, ValueError, ZeroDivisionError, AttributeError):
        return None
    if place is None:
        return None
    return Location(*place, altitude_m=-altitude if altitude and below == 1 else altitude)
