"""Compiled resizing against its reference, and camera renderings against Pillow's reduction."""

from __future__ import annotations

import numpy as np
import pytest
from PIL import Image

from driftline.colorimetry.encodings import srgb_decode
from driftline.frames.jpeg import reduced_codes
from driftline.pipeline.frame import reduced
from driftline.pipeline.kernels.area import light_of_codes, resize
from driftline.stages.resize import resize as reference

SIZES = [(40, 61), (33, 50), (119, 180), (120, 183), (240, 366), (1, 1)]


def picture() -> np.ndarray:
    """(120, 183, 3) float32."""
    return np.random.default_rng(11).random((120, 183, 3), dtype=np.float32)


@pytest.mark.parametrize("size", SIZES)
def test_it_gives_the_references_numbers(size: tuple[int, int]) -> None:
    """Smaller, larger and the same size, the same sums in the same order."""
    height, width = size
    expected = reference(picture(), height=height, width=width)
    np.testing.assert_allclose(resize(picture(), height=height, width=width), expected, rtol=1e-6)


@pytest.mark.parametrize("threads", [1, 2, 3])
def test_the_same_bits_for_any_number_of_threads(threads: int) -> None:
    """How the rows are dealt out changes nothing."""
    whole = resize(picture(), height=50, width=77, threads=1)
    assert np.array_equal(resize(picture(), height=50, width=77, threads=threads), whole)


def test_code_values_are_averaged_in_the_light_they_stand_for() -> None:
    """A board of black and white becomes half the light, not half the code value."""
    board = (np.indices((60, 90)).sum(axis=0) % 2 * 255).astype(np.uint8)[..., None].repeat(3, axis=2)
    table = srgb_decode(np.arange(256) / 255).astype(np.float32)
    assert light_of_codes(board, table, height=30, width=45) == pytest.approx(0.5, abs=1e-6)


def test_it_agrees_with_pillow() -> None:
    """At a whole-number factor, Pillow (general purpose) averages the same blocks."""
    codes = np.random.default_rng(12).integers(0, 256, (120, 180, 3), dtype=np.uint8)
    table = srgb_decode(np.arange(256) / 255).astype(np.float32)
    ours = light_of_codes(codes, table, height=40, width=60)
    for channel in range(3):
        plane = Image.fromarray(table[codes[..., channel]]).reduce(3)
        np.testing.assert_allclose(ours[..., channel], np.asarray(plane), rtol=2e-6)


def test_a_frame_and_the_frames_room_reduce_alike() -> None:
    """What stands in for the plain reduction gives the same picture."""
    codes = np.random.default_rng(13).integers(0, 256, (120, 180, 3), dtype=np.uint8)
    np.testing.assert_allclose(reduced(codes, 60), reduced_codes(codes, 60), atol=1e-5)
