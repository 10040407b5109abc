"""From the file back to what made it, also after others had it in hands."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageCms

from driftline.errors import PrintError
from driftline.prints import Credit, read_provenance, write_print
from driftline.prints.jpeg import encoder_name, picture_digest, with_segments
from prints.prints_made import picture, provenance


@pytest.fixture
def print_path(tmp_path: Path) -> Path:
    """A print on disk."""
    path = tmp_path / "night-07-tram-fog-8.jpg"
    write_print(picture(), path, provenance=provenance(picture()), credit=Credit("Ines Okoro"))
    return path


def test_a_print_tells_all_that_made_it(print_path: Path) -> None:
    """Everything handed over comes back, with the encoder and the digest of the stored picture."""
    traced = read_provenance(print_path)
    expected = provenance(picture(), encoder=encoder_name(), picture=picture_digest(print_path.read_bytes()))
    assert traced.provenance == expected
    assert traced.intact


def test_name_and_place_do_not_matter(print_path: Path, tmp_path: Path) -> None:
    """Renamed, also to another suffix, it is the same print."""
    moved = print_path.rename(tmp_path / "holiday.bin")
    assert read_provenance(moved).intact


def test_edited_metadata_leave_the_picture_intact(print_path: Path) -> None:
    """A comment added by another program changes nothing of the picture."""
    print_path.write_bytes(with_segments(print_path.read_bytes(), [(0xFE, b"filed under: trams")]))
    assert read_provenance(print_path).intact


def test_a_print_saved_again_says_so(print_path: Path) -> None:
    """Another program that keeps the XMP but encodes anew is found out."""
    image = Image.open(io.BytesIO(print_path.read_bytes()))
    image.save(print_path, "JPEG", quality=92, xmp=image.info["xmp"])
    traced = read_provenance(print_path)
    assert traced.provenance.making.ref == "tram-fog@8.laptop"
    assert not traced.intact
    assert "saved again" in traced.in_words


def test_a_print_without_metadata_is_not_called_ours(print_path: Path) -> None:
    """Metadata taken out: an error that names both explanations."""
    Image.open(io.BytesIO(print_path.read_bytes())).save(print_path, "JPEG")
    with pytest.raises(PrintError, match="metadata were taken out") as caught:
        read_provenance(print_path)
    assert caught.value.code == "not-a-print"


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "not-a-print"),
        (b"text", "not-a-print"),
        (b"\xff\xd8\xff\xe0", "print-broken"),
        (None, "print-missing"),
    ],
)
def test_other_files_are_errors(tmp_path: Path, content: bytes | None, code: str) -> None:
    """Empty, foreign, cut and missing files each have their own code, and the message names the file."""
    path = tmp_path / "x.jpg"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(PrintError, match=r"x\.jpg") as caught:
        read_provenance(path)
    assert caught.value.code == code


def test_a_cut_print_is_broken(print_path: Path) -> None:
    """Half a print still names itself but is not taken for whole."""
    content = print_path.read_bytes()
    print_path.write_bytes(content[: len(content) - 200])
    with pytest.raises(PrintError) as caught:
        read_provenance(print_path)
    assert caught.value.code == "print-broken"


def test_equal_prints_have_equal_bytes(tmp_path: Path) -> None:
    """Nothing in a print depends on when or where it was made."""
    for name in ("a.jpg", "b.jpg"):
        write_print(picture(), tmp_path / name, provenance=provenance(picture()))
    assert (tmp_path / "a.jpg").read_bytes() == (tmp_path / "b.jpg").read_bytes()


def test_pixels_come_back_as_near_as_jpeg_allows(print_path: Path) -> None:
    """Pillow finds our pixels (quality 92: a mean of 3 code values on this noise) and our profile."""
    image = Image.open(print_path)
    assert np.abs(np.asarray(image).astype(int) - picture()).mean() < 3
    profile = ImageCms.ImageCmsProfile(io.BytesIO(image.info["icc_profile"]))
    assert "sRGB" in ImageCms.getProfileDescription(profile)
