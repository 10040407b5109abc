"""16-bit prints, read back by exifread, LittleCMS and Pillow's directory reader."""

from __future__ import annotations

import io
from pathlib import Path

import exifread
import numpy as np
import pytest
import tifffile
from PIL import ImageCms

from driftline.errors import PrintError
from driftline.frames import ExposureData
from driftline.prints import Location, Provenance, glance, read_provenance, write_print
from prints.prints_made import picture, provenance

PIXELS = picture().astype(np.uint16) * 257 - np.uint16(3)
SHOT = ExposureData(make="Quay", model="Quay 2", lens="Quay 35 mm f/2", shutter_s=1 / 250, iso=400)


def told() -> Provenance:
    """A provenance of a TIFF in Display P3."""
    whole = provenance(PIXELS)
    wide = {"encoding": "tiff", "quality": None, "ceiling_bytes": None, "space": "display-p3"}
    return whole.model_copy(update={"making": whole.making.model_copy(update=wide)})


@pytest.fixture
def print_path(tmp_path: Path) -> Path:
    """A 16-bit print on disk, with a location."""
    path = tmp_path / "a.tif"
    write_print(PIXELS, path, provenance=told(), exposure=SHOT, location=Location(-33.5, 151.25))
    return path


def test_no_pixel_is_lost(print_path: Path) -> None:
    """All 16 bits come back, and the file names our profile (read by LittleCMS)."""
    with tifffile.TiffFile(print_path) as file:
        assert np.array_equal(file.asarray(), PIXELS)
        profile = file.pages.first.tags[34675].value
    assert "Display P3" in ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(profile)))


def test_exif_is_where_readers_look_for_it(print_path: Path) -> None:
    """exifread finds camera, exposure and the location behind the pointers that tifffile does not write."""
    with print_path.open("rb") as file:
        tags = {name: str(tag) for name, tag in exifread.process_file(file).items()}
    assert (tags["Image Model"], tags["EXIF ExposureTime"]) == ("Quay 2", "1/250")
    assert tags["EXIF LensModel"] == "Quay 35 mm f/2"
    assert tags["GPS GPSLongitude"] == "[151, 15, 0]"
    assert tags["Image Orientation"] == "Horizontal (normal)"
    assert not any("Date" in name for name in tags)


def test_a_tiff_tells_what_made_it(print_path: Path) -> None:
    """Provenance comes back whole, at a glance and at a full look."""
    traced = read_provenance(print_path)
    assert traced.intact
    assert traced.provenance.making == told().making
    assert glance(print_path) == traced.provenance
    assert traced.provenance.picture == traced.provenance.pixels


def test_a_changed_pixel_is_found_out(print_path: Path) -> None:
    """Another program that keeps the packet but changes one value by one."""
    with tifffile.TiffFile(print_path) as file:
        xmp, pixels = file.pages.first.tags[700].value, file.asarray()
    pixels[0, 0, 0] += 1
    tifffile.imwrite(print_path, pixels, photometric="rgb", extratags=[(700, 1, len(xmp), bytes(xmp), True)])
    assert not read_provenance(print_path).intact


@pytest.mark.parametrize("keep", [0.02, 0.3, 0.8])
def test_a_cut_tiff_is_not_taken_for_whole(print_path: Path, keep: float) -> None:
    """Cut off anywhere, it is broken or no print of ours."""
    content = print_path.read_bytes()
    print_path.write_bytes(content[: int(len(content) * keep)])
    with pytest.raises(PrintError) as caught:
        read_provenance(print_path)
    assert caught.value.code in {"print-broken", "not-a-print"}


def test_equal_prints_have_equal_bytes(tmp_path: Path) -> None:
    """No date, no name of a machine."""
    for name in ("a.tif", "b.tif"):
        write_print(PIXELS, tmp_path / name, provenance=told(), exposure=SHOT)
    assert (tmp_path / "a.tif").read_bytes() == (tmp_path / "b.tif").read_bytes()


def test_a_foreign_tiff_is_no_print(tmp_path: Path) -> None:
    """A TIFF of someone else, with a packet of someone else."""
    xmp = b'<x:xmpmeta xmlns:x="adobe:ns:meta/"/>'
    path = tmp_path / "x.tif"
    tifffile.imwrite(path, PIXELS, photometric="rgb", extratags=[(700, 1, len(xmp), xmp, True)])
    with pytest.raises(PrintError) as caught:
        read_provenance(path)
    assert caught.value.code == "not-a-print"
