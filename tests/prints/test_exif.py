"""EXIF is read back by exifread, which knows nothing of us."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import exifread
import pytest
from PIL import Image

from driftline.frames import ExposureData
from driftline.prints import Location, write_print
from driftline.prints.exif import exif_of, exif_segment
from prints.prints_made import picture, provenance

SHOT = ExposureData(
    make="Quay",
    model="Quay 2",
    lens="Quay 35 mm f/2",
    shutter_s=1 / 250,
    aperture=5.6,
    iso=1600,
    focal_mm=35.0,
    focal_35mm=35.0,
    bias_ev=-1 / 3,
    taken=datetime(2031, 3, 9, 7, 41, 5),
)
ALLOWED = {
    "Image Make", "Image Model", "Image Orientation", "Image Software", "Image ExifOffset",
    "EXIF ExifVersion", "EXIF ExposureTime", "EXIF FNumber", "EXIF ISOSpeedRatings", "EXIF DateTimeOriginal",
    "EXIF ExposureBiasValue", "EXIF FocalLength", "EXIF FocalLengthIn35mmFilm", "EXIF LensModel",
    "EXIF ColorSpace", "EXIF ExifImageWidth", "EXIF ExifImageLength",
}  # fmt: skip


def tags_of(path: Path) -> dict[str, str]:
    """All tags that exifread finds."""
    with path.open("rb") as file:
        return {name: str(tag) for name, tag in exifread.process_file(file).items()}


def written(tmp_path: Path, shot: ExposureData = SHOT, location: Location | None = None) -> dict[str, str]:
    """The tags of a print with these exposure data."""
    path = tmp_path / "a.jpg"
    write_print(picture(), path, provenance=provenance(picture()), exposure=shot, location=location)
    return tags_of(path)


def test_an_independent_reader_finds_the_exposure(tmp_path: Path) -> None:
    """Camera, lens, exposure and time as they were given, in the simplest fractions."""
    tags = written(tmp_path)
    assert tags["Image Model"] == "Quay 2"
    assert tags["EXIF LensModel"] == "Quay 35 mm f/2"
    assert tags["EXIF ExposureTime"] == "1/250"
    assert tags["EXIF FNumber"] == "28/5"
    assert tags["EXIF ISOSpeedRatings"] == "1600"
    assert tags["EXIF ExposureBiasValue"] == "-1/3"
    assert tags["EXIF FocalLengthIn35mmFilm"] == "35"
    assert tags["EXIF DateTimeOriginal"] == "2031:03:09 07:41:05"
    assert tags["EXIF ColorSpace"] == "sRGB"
    assert tags["Image Orientation"] == "Horizontal (normal)"
    assert (tags["EXIF ExifImageWidth"], tags["EXIF ExifImageLength"]) == ("64", "48")


def test_nothing_outside_the_list_is_written(tmp_path: Path) -> None:
    """No location, no maker notes, no serial number, no thumbnail: exactly the tags of the list."""
    assert set(written(tmp_path)) == ALLOWED


def test_unknown_is_left_out(tmp_path: Path) -> None:
    """What is not known is not in the print, rather than zero."""
    tags = written(tmp_path, ExposureData(model="Quay 2", shutter_s=0.0, iso=-1))
    assert set(tags) == {
        "Image Model", "Image Orientation", "Image Software", "Image ExifOffset", "EXIF ExifVersion",
        "EXIF ColorSpace", "EXIF ExifImageWidth", "EXIF ExifImageLength",
    }  # fmt: skip


def test_location_only_when_asked(tmp_path: Path) -> None:
    """A location handed over is written in degrees, minutes and seconds."""
    tags = written(tmp_path, location=Location(-33.5, 151.25, 12.5))
    assert (tags["GPS GPSLatitudeRef"], tags["GPS GPSLatitude"]) == ("S", "[33, 30, 0]")
    assert (tags["GPS GPSLongitudeRef"], tags["GPS GPSLongitude"]) == ("E", "[151, 15, 0]")
    assert tags["GPS GPSAltitude"] == "25/2"


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(1 / 8000, "1/8000"), (1 / 60, "1/60"), (0.3, "3/10"), (0.5, "1/2"), (2.5, "5/2"), (30, "30")],
)
def test_shutter_times_read_as_on_the_dial(tmp_path: Path, seconds: float, text: str) -> None:
    """Common practice: 1/250, not 4/1000."""
    assert written(tmp_path, ExposureData(shutter_s=seconds))["EXIF ExposureTime"] == text


def test_a_positive_bias_is_signed(tmp_path: Path) -> None:
    """ExposureBiasValue is SRATIONAL (Exif 2.32, 4.6.5): type 10 also when it is positive."""
    block = exif_segment(exif_of(ExposureData(bias_ev=1.0), size=(1, 1), space="srgb"))
    assert b"\x92\x04\x00\x0a\x00\x00\x00\x01" in block
    assert written(tmp_path, ExposureData(bias_ev=1.0))["EXIF ExposureBiasValue"] == "1"


def test_an_iso_beyond_sixteen_bits_is_kept(tmp_path: Path) -> None:
    """ISO 102400 goes to ISOSpeed, and PhotographicSensitivity holds 65535 (Exif 2.32, 4.6.5)."""
    tags = written(tmp_path, ExposureData(iso=102400))
    assert tags["EXIF ISOSpeedRatings"] == "65535"
    assert tags["EXIF ISOSpeed"] == "102400"


def test_display_p3_is_not_called_srgb(tmp_path: Path) -> None:
    """A reader that trusts EXIF alone must not show P3 numbers as sRGB."""
    whole = provenance(picture())
    wide = whole.model_copy(update={"making": whole.making.model_copy(update={"space": "display-p3"})})
    write_print(picture(), tmp_path / "p.jpg", provenance=wide, exposure=SHOT)
    assert tags_of(tmp_path / "p.jpg")["EXIF ColorSpace"] == "Uncalibrated"


def test_pillow_reads_the_same(tmp_path: Path) -> None:
    """A second independent reader, with its own walk of the directories."""
    write_print(picture(), tmp_path / "a.jpg", provenance=provenance(picture()), exposure=SHOT)
    with Image.open(tmp_path / "a.jpg") as image:
        shot = image.getexif().get_ifd(0x8769)
    assert (shot[0x9000], shot[0x8827], shot[0xA002], shot[0xA434]) == (b"0232", 1600, 64, "Quay 35 mm f/2")
    assert (float(shot[0x829A]), float(shot[0x9204])) == (1 / 250, pytest.approx(-1 / 3))


def test_letters_beyond_ascii_are_replaced(tmp_path: Path) -> None:
    """EXIF texts are ASCII; XMP keeps the words as they are."""
    assert written(tmp_path, ExposureData(lens="Zoém 35"))["EXIF LensModel"] == "Zo?m 35"
