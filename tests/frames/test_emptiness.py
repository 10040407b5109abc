"""Decodes that succeed into nothing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from driftline.errors import FrameError
from driftline.frames import RawFrame
from driftline.frames.emptiness import refuse_nothing, zero_rows

HERE = Path("a.dng")


def noise(mean: float = 600, sigma: float = 4, shape: tuple[int, ...] = (200, 300)) -> NDArray[np.uint16]:
    """Values like those of a frame shot in the dark: a level and its noise."""
    return np.random.default_rng(2).normal(mean, sigma, shape).clip(0).round().astype(np.uint16)


@pytest.mark.parametrize("value", [0, 512, 65535])
def test_one_value_is_empty(value: int) -> None:
    """Nothing but one value, zero or not, is no picture."""
    with pytest.raises(FrameError, match=f"every value is {value}") as caught:
        refuse_nothing(HERE, np.full((40, 60), value, np.uint16), 512, 16383)
    assert caught.value.code == "frame-empty"


def test_a_handful_of_values_is_empty() -> None:
    """Seven different values where fourteen bits are expected are no picture; eight are let through."""
    rows = np.tile(np.arange(7, dtype=np.uint16) * 1000, (40, 3))
    with pytest.raises(FrameError, match="only 7 different values where 14 bits") as caught:
        refuse_nothing(HERE, rows, 0, 16383)
    assert caught.value.code == "frame-empty"
    assert refuse_nothing(HERE, np.tile(np.arange(8, dtype=np.uint16) * 1000, (40, 3)), 0, 16383) == ""


def test_few_bits_have_few_values() -> None:
    """Two values of an eight-bit sensor pass."""
    assert refuse_nothing(HERE, np.tile(np.array([16, 235], np.uint16), (40, 3)), 0, 255) == ""


@pytest.mark.parametrize("sigma", [1.5, 4, 40])
def test_a_dark_frame_is_a_picture(sigma: float) -> None:
    """A frame shot with the cap on is dark, not empty: it has its noise."""
    assert refuse_nothing(HERE, noise(sigma=sigma), 600, 16383) == ""


def test_few_values_are_found_in_a_large_frame() -> None:
    """A large frame is sampled, and read whole if the sample shows too few values."""
    values = np.full((3000, 4000), 700, np.uint16)
    values[::2, ::2] = 800
    with pytest.raises(FrameError, match="only 2 different values"):
        refuse_nothing(HERE, values, 512, 16383)
    values[1, 1:3000] = np.arange(2999)
    assert refuse_nothing(HERE, values, 512, 16383) == ""


def test_rows_of_zeros_below_black_are_damage() -> None:
    """With black above zero, zeros are no shadows: a tenth of the rows is a hole."""
    values = noise()
    values[100:120] = 0
    with pytest.raises(FrameError, match="20 of 200 rows hold nothing but zeros") as caught:
        refuse_nothing(HERE, values, 600, 16383)
    assert caught.value.code == "frame-damaged"


def test_a_small_hole_is_said() -> None:
    """Up to 4 % of the rows make a doubt, not an error."""
    values = noise()
    values[-3:] = 0
    assert refuse_nothing(HERE, values, 600, 16383) == "3 of 200 rows hold nothing but zeros"


def test_a_hole_with_black_at_zero_has_a_sharp_edge() -> None:
    """With black at zero, rows of zeros are damage only where the picture does not fade into them."""
    bright, fading = noise(600, 40), noise(3, 2)
    bright[-40:] = 0
    fading[-40:] = 0
    assert zero_rows(bright, certain=False) == 40
    assert zero_rows(fading, certain=False) == 0


def test_planes() -> None:
    """Rows of planes count when all three are zero."""
    planes = noise(shape=(50, 60, 3))
    planes[-10:, :, :2] = 0
    assert zero_rows(planes, certain=True) == 0
    planes[-10:] = 0
    assert zero_rows(planes, certain=True) == 10


def test_a_file_filled_up_with_zeros(dng: Callable[..., Path]) -> None:
    """A copy that broke off and was filled up with zeros decodes without a word, and is refused."""
    path = dng(noise(3000, 60, (120, 160)), compression="none")
    blob = path.read_bytes()
    middle = len(blob) // 2
    path.write_bytes(blob[:middle] + bytes(20_000) + blob[middle + 20_000 :])
    with pytest.raises(FrameError, match="rows hold nothing but zeros") as caught:
        RawFrame(path).sensor()
    assert caught.value.code == "frame-damaged"
