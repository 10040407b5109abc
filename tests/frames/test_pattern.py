"""Colour filter patterns: those that are taken, and those that are refused."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import rawpy
from numpy.typing import NDArray

from driftline.errors import FrameError
from driftline.frames import RawFrame
from driftline.frames.pattern import filter_pattern, shortest_period

TWO = [((0, 1), (1, 2)), ((1, 0), (2, 1)), ((1, 2), (0, 1)), ((2, 1), (1, 0))]
SIX = (
    (1, 1, 0, 1, 1, 2),
    (1, 1, 2, 1, 1, 0),
    (2, 0, 1, 0, 2, 1),
    (1, 1, 2, 1, 1, 0),
    (1, 1, 0, 1, 1, 2),
    (0, 2, 1, 2, 0, 1),
)


def facts(**changes: Any) -> dict[str, Any]:
    """What the decoder says of an ordinary mosaic, changed."""
    plain = {
        "num_colors": 3,
        "color_desc": "RGBG",
        "pattern": [[0, 1], [3, 2]],
        "sizes": {"pixel_aspect": 1.0},
    }
    return plain | changes


@pytest.mark.parametrize("pattern", TWO)
def test_two_by_two_in_every_phase(dng: Callable[..., Path], pattern: Any) -> None:
    """The pattern at the first photosite is the one in the file, with one code for both greens."""
    assert np.array_equal(RawFrame(dng(pattern=pattern)).sensor().pattern, pattern)


@pytest.mark.parametrize(("top", "left"), list(product((4, 5), (6, 7))))
@pytest.mark.parametrize("pattern", TWO)
def test_two_by_two_behind_margins(dng: Callable[..., Path], pattern: Any, top: int, left: int) -> None:
    """DNG 1.4: the pattern begins at ActiveArea; LibRaw moves odd corners by one, and the phase follows.

    Checked against the colour that LibRaw gives each visible photosite.
    """
    path = dng(pattern=pattern, active_area=(top, left, 116, 156))
    with rawpy.imread(str(path)) as raw:
        peer = np.array([0, 1, 2, 1])[raw.raw_colors_visible]
    found = RawFrame(path).sensor().pattern
    assert found is not None
    assert np.array_equal(np.tile(found, (60, 80))[: peer.shape[0], : peer.shape[1]], peer)


@pytest.mark.parametrize("size", [(24, 24), (36, 48), (61, 83), (120, 160)])
def test_six_by_six(dng: Callable[..., Path], mosaic: NDArray[np.uint16], size: tuple[int, int]) -> None:
    """6 × 6 patterns decode, small frames too, though LibRaw's own demosaicking refuses the smallest."""
    sensor = RawFrame(dng(mosaic[: size[0], : size[1]], pattern=SIX)).sensor()
    assert np.array_equal(sensor.pattern, SIX)
    assert np.array_equal(sensor.values, mosaic[: size[0], : size[1]])


@pytest.mark.parametrize(("top", "left"), [(0, 0), (5, 7), (6, 12), (4, 3)])
def test_six_by_six_behind_margins(
    dng: Callable[..., Path], mosaic: NDArray[np.uint16], top: int, left: int
) -> None:
    """DNG 1.4: CFAPattern begins at the top left of ActiveArea, however far in that lies."""
    sensor = RawFrame(dng(pattern=SIX, active_area=(top, left, 114, 154))).sensor()
    assert np.array_equal(sensor.values, mosaic[top:114, left:154])
    assert np.array_equal(sensor.pattern, SIX)


def test_planes_have_none(dng: Callable[..., Path]) -> None:
    """Linear planes have no pattern."""
    planes = np.random.default_rng(1).integers(600, 15000, (60, 80, 3)).astype(np.uint16)
    sensor = RawFrame(dng(planes)).sensor()
    assert sensor.pattern is None
    assert np.array_equal(sensor.values, planes)


@pytest.mark.parametrize(
    "pattern",
    [((0, 0, 1, 1), (0, 0, 1, 1), (1, 1, 2, 2), (1, 1, 2, 2)), ((0, 1, 2), (0, 1, 2), (0, 1, 2))],
    ids=["four by four", "three by three"],
)
def test_other_sizes_are_refused(dng: Callable[..., Path], pattern: Any) -> None:
    """A pattern that is neither 2 × 2 nor 6 × 6 is refused with its size (LibRaw mistakes it)."""
    with pytest.raises(FrameError, match=r"pattern of \d × \d; 2 × 2 and 6 × 6 are taken") as caught:
        RawFrame(dng(pattern=pattern)).sensor()
    assert caught.value.code == "frame-layout"


def test_a_large_block_that_repeats_a_small_one(dng: Callable[..., Path]) -> None:
    """A 4 × 4 block that is RGGB four times is RGGB."""
    assert np.array_equal(RawFrame(dng(pattern=np.tile(TWO[0], (2, 2)))).sensor().pattern, TWO[0])


@pytest.mark.parametrize(
    "changes",
    [
        {"color_desc": "GMCY", "num_colors": 4},
        {"color_desc": "RGBE"},
        {"pattern": [[0, 1], [4, 2]]},
    ],
)
def test_four_colours_are_refused(changes: dict[str, Any]) -> None:
    """A sensor that sees other colours than red, green and blue is refused, and they are named."""
    with pytest.raises(FrameError, match="sees four colours") as caught:
        filter_pattern(Path("a.raw"), facts(**changes), 2, None)
    assert caught.value.code == "frame-four-colours"


def test_two_greens_kept_apart_are_no_fourth_colour() -> None:
    """Some files count the second green as a colour of its own."""
    colours, indices = filter_pattern(Path("a.raw"), facts(num_colors=4), 2, None)
    assert colours is not None
    assert indices is not None
    assert colours.tolist() == [[0, 1], [1, 2]]
    assert indices.tolist() == [[0, 1], [3, 2]]


@pytest.mark.parametrize("changes", [{"num_colors": 1}, {"pattern": None}])
def test_one_colour_is_refused(changes: dict[str, Any]) -> None:
    """A sensor without a pattern is refused."""
    with pytest.raises(FrameError) as caught:
        filter_pattern(Path("a.raw"), facts(**changes), 2, None)
    assert caught.value.code == "frame-one-colour"


def test_oblong_photosites_are_refused() -> None:
    """A picture that would come out squashed is refused."""
    with pytest.raises(FrameError, match=r"0\.5 times as high") as caught:
        filter_pattern(Path("a.raw"), facts(sizes={"pixel_aspect": 0.5}), 2, None)
    assert caught.value.code == "frame-layout"


@pytest.mark.parametrize("shape", [(2, 2), (2, 6), (6, 6), (3, 3)])
def test_shortest_period_of_what_repeats(shape: tuple[int, int]) -> None:
    """A random block, repeated, is found again."""
    block = np.random.default_rng(3).permutation(shape[0] * shape[1]).reshape(shape)
    assert np.array_equal(shortest_period(np.tile(block, (3, 2))), block)
