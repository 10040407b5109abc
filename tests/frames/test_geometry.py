"""Inset crop and orientation of what was decoded."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from driftline.frames import RawFrame, upright
from driftline.frames.geometry import picture_crop, stored_orientation


def sizes(**changes: int) -> dict[str, Any]:
    """LibRaw's sizes of d30.crw (FACTS of real files: margins 48, 6; crop 2160 × 1440 at 56, 12), changed."""
    plain = {
        "top_margin": 6,
        "left_margin": 48,
        "crop_top_margin": 12,
        "crop_left_margin": 56,
        "crop_height": 1440,
        "crop_width": 2160,
    }
    return plain | changes


def test_crop_counts_from_the_full_raw() -> None:
    """LibRaw's crop is relative to the raw with its margins; ours to the values."""
    assert picture_crop(sizes(), (1448, 2176), None) == ((6, 8, 1440, 2160), "")


@pytest.mark.parametrize("changes", [{"crop_height": 0}, {"crop_width": 0}, {"crop_width": 65535}])
def test_unknown_crop_is_the_whole(changes: dict[str, int]) -> None:
    """0 and 65535 stand for unknown."""
    assert picture_crop(sizes(**changes), (1448, 2176), None) == ((0, 0, 1448, 2176), "")


@pytest.mark.parametrize(
    "changes", [{"crop_height": 1600}, {"crop_left_margin": 300}, {"crop_top_margin": 2}]
)
def test_crop_that_does_not_fit_is_ignored_and_said(changes: dict[str, int]) -> None:
    """A crop larger than the picture, or outside it, is not believed."""
    crop, doubt = picture_crop(sizes(**changes), (1448, 2176), None)
    assert crop == (0, 0, 1448, 2176)
    assert "lies outside the picture" in doubt


@pytest.mark.parametrize(("top", "left", "inner"), list(product((6, 7), (8, 9), (2, 3))))
def test_default_crop_of_a_dng(
    dng: Callable[..., Path], mosaic: NDArray[np.uint16], top: int, left: int, inner: int
) -> None:
    """DNG 1.4: DefaultCropOrigin counts from ActiveArea; odd ones count too (LibRaw moves them)."""
    path = dng(active_area=(top, left, 114, 154), default_crop=(inner, inner + 1, 96, 128))
    sensor = RawFrame(path).sensor()
    y, x, height, width = sensor.crop
    wanted = mosaic[top + inner : top + inner + 96, left + inner + 1 : left + inner + 129]
    assert np.array_equal(sensor.values[y : y + height, x : x + width], wanted)


def test_crop_at_the_corner_of_an_odd_area_loses_one(dng: Callable[..., Path]) -> None:
    """LibRaw does not hand out the first row and column of an active area that begins on odd ones."""
    path = dng(active_area=(5, 7, 115, 157), default_crop=(0, 0, 110, 150))
    assert RawFrame(path).sensor().crop == (0, 0, 109, 149)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_orientation_of_a_file(
    dng: Callable[..., Path], mosaic: NDArray[np.uint16], orientation: int
) -> None:
    """All eight orientations come through, mirrored ones too, and values stay as they are stored."""
    sensor = RawFrame(dng(orientation=orientation)).sensor()
    assert sensor.orientation == orientation
    assert np.array_equal(sensor.values, mosaic)
    assert sensor.doubts == ()
    assert upright(sensor.values, orientation).shape == ((120, 160) if orientation < 5 else (160, 120))


def test_two_orientations_that_disagree_are_said() -> None:
    """The decoder's counts, and the tag's is mentioned."""
    orientation, doubt = stored_orientation(6, 8)
    assert orientation == 6
    assert doubt == "orientation is 8 in the file's tag but 6 to the decoder"


@pytest.mark.parametrize("tag", [None, 0, 6, 17])
def test_an_absent_or_agreeing_tag_says_nothing(tag: int | None) -> None:
    """Nothing to compare, or nothing to say."""
    assert stored_orientation(6, tag) == (6, "")
