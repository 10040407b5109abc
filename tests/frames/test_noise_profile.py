"""The noise that a DNG file states."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

import demo_frames
from driftline.frames import RawFrame
from driftline.frames.directories import Directories, Directory
from driftline.frames.noise_profile import NOISE_PROFILE, PLANE_COLOUR, noise_profile

PAIRS = np.array([[3e-4, 1e-6], [2e-4, 2e-6], [5e-4, 3e-6]])


def test_one_pair_holds_for_all_colours(dng: Callable[..., Path]) -> None:
    """DNG 1.4, NoiseProfile with two values (from memory): all planes have the same noise."""
    stated = RawFrame(dng(noise_profile=(2e-4, 1e-6))).sensor().noise_profile
    assert stated is not None
    assert stated.tolist() == [[2e-4, 1e-6]] * 3


def test_a_pair_for_each_colour(dng: Callable[..., Path]) -> None:
    """With six values red, green and blue have their own."""
    stated = RawFrame(dng(noise_profile=PAIRS.ravel().tolist())).sensor().noise_profile
    assert stated is not None
    assert np.array_equal(stated, PAIRS)


def test_demo_frames_state_theirs() -> None:
    """Behind a preview the tag stands in the first directory; it is what the frame was made with."""
    for path, truth in zip(demo_frames.paths(), demo_frames.registry(), strict=True):
        stated = RawFrame(path).sensor().noise_profile
        assert stated is not None
        assert np.allclose(stated, truth["truth"]["noise_profile"], rtol=1e-9)


def test_nothing_stated_is_none(dng: Callable[..., Path]) -> None:
    """A file without the tag states no noise."""
    assert RawFrame(dng()).sensor().noise_profile is None


def test_pairs_follow_the_order_of_the_planes() -> None:
    """DNG 1.4, CFAPlaneColor (from memory): the planes may be in another order than red, green, blue."""
    sensor = Directory({NOISE_PROFILE: tuple(PAIRS.ravel()), PLANE_COLOUR: bytes((2, 0, 1))})
    stated = noise_profile(Directories((sensor,)), sensor)
    assert stated is not None
    assert np.array_equal(stated, PAIRS[[1, 2, 0]])


@pytest.mark.parametrize(
    "values",
    [
        (0.0, 0.0),
        (-1e-4, 1e-6),
        (float("nan"), 1e-6),
        (2.0, 1e-6),
        (1e-4,),
        (1e-4, 1e-6, 1e-4, 1e-6),
        (1e-4, 1e-6) * 4,
    ],
)
def test_what_is_no_noise_is_not_believed(values: tuple[float, ...]) -> None:
    """Zeros, negative, missing or absurd numbers count as nothing stated."""
    sensor = Directory({NOISE_PROFILE: values})
    assert noise_profile(Directories((sensor,)), sensor) is None


def test_other_files_state_none() -> None:
    """Without a directory of DNG sensor values nothing is looked for."""
    assert noise_profile(Directories(), None) is None
