"""Turning pictures upright, against Pillow's reading of EXIF."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageOps

from driftline.frames import as_stored, upright
from driftline.frames.orientation import exif_orientation, flip_to_orientation

EIGHT = range(1, 9)
PICTURE = np.arange(5 * 7 * 3, dtype=np.uint8).reshape(5, 7, 3)


def pillow_upright(pixels: np.ndarray, orientation: int) -> np.ndarray:
    """Pillow's ``ImageOps.exif_transpose`` of a lossless picture with that Orientation tag."""
    out = io.BytesIO()
    exif = Image.Exif()
    exif[274] = orientation
    Image.fromarray(pixels).save(out, "PNG", exif=exif)
    return np.asarray(ImageOps.exif_transpose(Image.open(out)))


@pytest.mark.parametrize("orientation", EIGHT)
def test_agrees_with_pillow(orientation: int) -> None:
    """Every orientation turns as Pillow turns it."""
    assert np.array_equal(upright(PICTURE, orientation), pillow_upright(PICTURE, orientation))


@pytest.mark.parametrize("orientation", EIGHT)
def test_inverse(orientation: int) -> None:
    """What was turned upright goes back to how it was stored."""
    assert np.array_equal(as_stored(upright(PICTURE, orientation), orientation), PICTURE)


@pytest.mark.parametrize("orientation", EIGHT)
def test_two_dimensions(orientation: int) -> None:
    """A mosaic turns like one channel of a picture."""
    assert np.array_equal(upright(PICTURE[..., 0], orientation), upright(PICTURE, orientation)[..., 0])


def test_a_view() -> None:
    """Nothing is copied, and nothing is written."""
    assert all(np.shares_memory(upright(PICTURE, orientation), PICTURE) for orientation in EIGHT)


@pytest.mark.parametrize(("flip", "orientation"), [(0, 1), (3, 3), (5, 8), (6, 6)])
def test_flip_as_documented(flip: int, orientation: int) -> None:
    """LibRaw documents flip as 0 none, 3 half turn, 5 90° counter-clockwise, 6 90° clockwise."""
    assert flip_to_orientation(flip) == orientation


def test_flip_covers_all_eight() -> None:
    """Each of LibRaw's eight flips is an orientation of its own."""
    assert sorted(flip_to_orientation(flip) for flip in range(8)) == list(EIGHT)


@pytest.mark.parametrize("junk", [0, 9, -1, None, "6", 6.0])
def test_junk_is_no_orientation(junk: object) -> None:
    """Anything but an integer from 1 to 8 is unknown."""
    assert exif_orientation(junk) is None
