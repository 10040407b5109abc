"""What names a frame."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from driftline.errors import FrameError
from driftline.frames import RawFrame


def write(path: Path, blob: bytes) -> RawFrame:
    """A frame of these bytes."""
    path.write_bytes(blob)
    return RawFrame(path)


def test_full_is_the_sha_256_of_the_bytes(tmp_path: Path) -> None:
    """The full fingerprint of ``abc`` is FIPS 180-4's worked example of SHA-256."""
    frame = write(tmp_path / "a.dng", b"abc")
    assert frame.fingerprint() == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_full_of_a_large_file(tmp_path: Path) -> None:
    """A file larger than any buffer is read to its end."""
    blob = bytes(range(256)) * 20_000
    assert write(tmp_path / "a.dng", blob).fingerprint() == hashlib.sha256(blob).hexdigest()


@pytest.mark.parametrize("size", [1, 65_536, 600_000, 5_000_000])
def test_copies_have_one_fingerprint(tmp_path: Path, size: int) -> None:
    """Two files of equal content have one fingerprint of each kind."""
    blob = bytes(range(251)) * (size // 251 + 1)
    one, other = write(tmp_path / "a.dng", blob[:size]), write(tmp_path / "b.nef", blob[:size])
    assert one.quick_fingerprint() == other.quick_fingerprint()
    assert one.fingerprint() == other.fingerprint()


@pytest.mark.parametrize("place", [0, 40, -1])
def test_quick_sees_both_ends(tmp_path: Path, place: int) -> None:
    """A changed byte at the beginning or the end changes the quick fingerprint."""
    blob = bytearray(3_000_000)
    before = write(tmp_path / "a.dng", bytes(blob)).quick_fingerprint()
    blob[place] = 1
    assert write(tmp_path / "a.dng", bytes(blob)).quick_fingerprint() != before


def test_quick_sees_the_size(tmp_path: Path) -> None:
    """Files of zeros that differ in length alone differ."""
    sizes = (70_000, 70_001, 4_000_000, 4_000_001)
    prints = {write(tmp_path / "a.dng", bytes(size)).quick_fingerprint() for size in sizes}
    assert len(prints) == 4


def test_small_files_are_read_whole(tmp_path: Path) -> None:
    """Up to half a megabyte every byte counts."""
    blob = bytearray(500_000)
    before = write(tmp_path / "a.dng", bytes(blob)).quick_fingerprint()
    blob[123_456] = 1
    assert write(tmp_path / "a.dng", bytes(blob)).quick_fingerprint() != before


def test_missing(tmp_path: Path) -> None:
    """A file that is not there has no fingerprint."""
    with pytest.raises(FrameError) as caught:
        RawFrame(tmp_path / "gone.dng").fingerprint()
    assert caught.value.code == "frame-missing"
