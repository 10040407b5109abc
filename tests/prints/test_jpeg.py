"""Segments against Pillow's own files, and the digest against every way a file can change."""

from __future__ import annotations

import io
from contextlib import suppress

import numpy as np
import pytest
from PIL import Image

from driftline.errors import PrintError
from driftline.prints.jpeg import encode_jpeg, picture_digest, segments, with_segments
from prints.prints_made import picture


def saved(**options: object) -> bytes:
    """A JPEG file as Pillow writes it."""
    out = io.BytesIO()
    Image.fromarray(picture()).save(out, "JPEG", **options)
    return out.getvalue()


@pytest.mark.parametrize(
    "options", [{}, {"progressive": True}, {"restart_marker_rows": 1}, {"quality": 30, "subsampling": 2}]
)
def test_every_segment_of_a_file_is_found(options: dict[str, object]) -> None:
    """Markers and contents put together again are the file: also with many scans and restart markers."""
    jpeg = saved(**options)
    parts = [b"\xff\xd8"]
    for marker, content in segments(jpeg):
        length = int.from_bytes(jpeg[sum(map(len, parts)) + 2 :][:2], "big")
        parts.append(bytes((0xFF, marker)) + length.to_bytes(2, "big") + content)
    assert b"".join(parts) + b"\xff\xd9" == jpeg


def test_digest_ignores_metadata_and_nothing_else() -> None:
    """Comments and application segments leave it alone; another quality, or saving again, changes it."""
    jpeg = saved(quality=92)
    told = with_segments(jpeg, [(0xE1, b"Exif\0\0something"), (0xFE, b"a comment"), (0xED, b"other")])
    assert Image.open(io.BytesIO(told)).size == (64, 48)
    assert picture_digest(told) == picture_digest(jpeg)
    assert picture_digest(saved(quality=91)) != picture_digest(jpeg)
    again = io.BytesIO()
    Image.open(io.BytesIO(jpeg)).save(again, "JPEG", quality=92)
    assert picture_digest(again.getvalue()) != picture_digest(jpeg)


def test_one_bit_of_the_picture_changes_the_digest() -> None:
    """A flipped bit anywhere in the scan is seen."""
    jpeg = saved()
    for at in np.linspace(len(jpeg) - 400, len(jpeg) - 3, 20).astype(int):
        flipped = bytearray(jpeg)
        flipped[at] ^= 0x10
        with suppress(PrintError):  # a flip that makes a marker is found out before
            assert picture_digest(bytes(flipped)) != picture_digest(jpeg)


@pytest.mark.parametrize("share", [0.01, 0.1, 0.5, 0.9, 0.99])
def test_a_cut_file_is_called_broken(share: float) -> None:
    """A file that ends too early is an error at any place."""
    jpeg = saved()
    with pytest.raises(PrintError) as caught:
        picture_digest(jpeg[: int(len(jpeg) * share)])
    assert caught.value.code == "print-broken"


def test_equal_pixels_give_equal_bytes() -> None:
    """The encoder draws on nothing but pixels and quality."""
    assert encode_jpeg(picture(), quality=92) == encode_jpeg(picture(), quality=92)


@pytest.mark.parametrize("quality", [40, 89, 92, 100])
def test_a_decoder_sees_what_another_encoder_would_have_given_it(quality: int) -> None:
    """Pillow as the peer, with the same quality and chroma: the same picture to the last code value."""
    peer = saved(quality=quality, subsampling=0 if quality >= 90 else 2)
    ours = encode_jpeg(picture(), quality=quality)
    seen, expected = (np.asarray(Image.open(io.BytesIO(jpeg))) for jpeg in (ours, peer))
    assert np.array_equal(seen, expected)


@pytest.mark.parametrize(("quality", "sampling"), [(92, (1, 1)), (89, (2, 2))])
def test_chroma_is_kept_whole_at_high_quality(quality: int, sampling: tuple[int, int]) -> None:
    """4:4:4 from quality 90 on, 4:2:0 below: read from the frame header (ISO/IEC 10918-1, B.2.2)."""
    header = next(
        content for marker, content in segments(encode_jpeg(picture(), quality=quality)) if marker == 0xC0
    )
    assert divmod(header[7], 16) == sampling


def test_monochrome_pixels_are_one_channel() -> None:
    """(H, W) pixels make a grey JPEG."""
    jpeg = encode_jpeg(picture()[..., 0], quality=92)
    assert Image.open(io.BytesIO(jpeg)).mode == "L"


def test_metadata_longer_than_a_segment_is_refused() -> None:
    """Nothing is cut off in silence."""
    with pytest.raises(PrintError) as caught:
        with_segments(saved(), [(0xE1, bytes(0xFFFE))])
    assert caught.value.code == "metadata-too-long"
