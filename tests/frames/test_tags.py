"""Plain values out of EXIF, written by Pillow and read by exifread."""

from __future__ import annotations

import logging
from datetime import datetime
from pathlib import Path

import pytest

from driftline.frames.tags import exif_of_file, moment, number, positive, text, without_decoders_exif
from frames.written import FNUMBER, MODEL, SOFTWARE, SUBSECOND, TAKEN, TIME, exif_block, picture, ratio, tags


def test_numbers() -> None:
    """A rational comes as a float, with nothing lost between 1/8000 and f/22."""
    found = tags(exif={TIME: ratio(1, 8000), FNUMBER: ratio(22)})
    assert number(found, "EXIF ExposureTime") == 1 / 8000
    assert positive(found, "EXIF FNumber") == 22


def test_zero_is_a_number_but_not_positive() -> None:
    """EXIF writes 0 for what it does not know; an exposure bias of 0 is known."""
    found = tags(exif={TIME: ratio(0)})
    assert number(found, "EXIF ExposureTime") == 0
    assert positive(found, "EXIF ExposureTime") is None


def test_zero_denominators_and_absent_tags_are_unknown() -> None:
    """What is no number is None."""
    found = tags(exif={TIME: ratio(1, 0)})
    assert number(found, "EXIF ExposureTime") is None
    assert number(found, "EXIF FNumber") is None
    assert number({}, "EXIF FNumber") is None


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("  Ostrel   K2 ", "Ostrel K2"),
        ("", None),
        ("   ", None),
        ("----", None),
        ("unknown", None),
        ("N/A", None),
    ],
)
def test_words(words: str, found: str | None) -> None:
    """Words come stripped; what stands for nothing is None."""
    assert text(tags({MODEL: words}), "Image Model") == found


def test_the_first_tag_with_words_counts() -> None:
    """Of several names the first that says something."""
    found = tags({271: "Ostrel", MODEL: " "})
    assert text(found, "Image Model", "Image Make") == "Ostrel"


@pytest.mark.parametrize(
    ("stamp", "fraction", "taken"),
    [
        ("2025:11:03 07:41:05", None, datetime(2025, 11, 3, 7, 41, 5)),
        ("2025:11:03 07:41:05", "24", datetime(2025, 11, 3, 7, 41, 5, 240000)),
        ("2025:11:03 07:41:05", "junk", datetime(2025, 11, 3, 7, 41, 5)),
        ("1970:01:01 00:00:00", None, None),
        ("0000:00:00 00:00:00", None, None),
        ("    :  :     :  :  ", None, None),
        ("2025-11-03", None, None),
    ],
)
def test_moments(stamp: str, fraction: str | None, taken: datetime | None) -> None:
    """EXIF times with fractions of a second; the epoch, zeros and blanks are unknown."""
    exif = {TAKEN: stamp} | ({SUBSECOND: fraction} if fraction else {})
    assert moment(tags(exif=exif)) == taken


def test_the_decoders_exif_is_taken_off() -> None:
    """LibRaw puts EXIF, with itself as the software, in front of a preview's own; both are found."""
    own = picture(exif=exif_block({MODEL: "Ostrel K2"}), size=(16, 16))
    added = picture(exif=exif_block({MODEL: "Other", SOFTWARE: "dcraw v9.26"}), size=(16, 16))
    block = added[added.index(b"\xff\xe1") :][
        : 2 + int.from_bytes(added[added.index(b"\xff\xe1") + 2 :][:2], "big")
    ]
    blob, tags_added = without_decoders_exif(own[:2] + block + own[2:])
    assert blob == own
    assert text(tags_added, "Image Model") == "Other"


def test_the_cameras_exif_stays() -> None:
    """A preview with the camera's EXIF in front is left as it is."""
    own = picture(exif=exif_block({MODEL: "Ostrel K2", SOFTWARE: "Ver.1.00"}), size=(16, 16))
    start = own.index(b"\xff\xe1")
    first = own[:2] + own[start:]
    assert without_decoders_exif(first) == (first, {})


@pytest.mark.parametrize("blob", [b"", b"\xff\xd8\xff", b"II*\0", b"II*\0\x08\0\0\0\xff\xff", bytes(100)])
def test_broken_files_have_no_exif(
    tmp_path: Path, blob: bytes, caplog: pytest.LogCaptureFixture, capsys: pytest.CaptureFixture[str]
) -> None:
    """What cannot be read is empty, and nothing is said on the way."""
    path = tmp_path / "a.dng"
    path.write_bytes(blob)
    with caplog.at_level(logging.WARNING):
        assert dict(exif_of_file(path)) == {}
    assert caplog.records == []
    assert capsys.readouterr() == ("", "")


def test_a_missing_file_has_no_exif(tmp_path: Path) -> None:
    """Reading tags never raises."""
    assert dict(exif_of_file(tmp_path / "gone.dng")) == {}
