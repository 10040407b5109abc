"""Sensor values with everything that gives them meaning, from files whose truth is known."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from driftline.colorimetry.primaries import SRGB_TO_XYZ
from driftline.errors import FrameError
from driftline.frames import RawFrame

COLOR_MATRIX = np.array(((0.90, -0.30, -0.07), (-0.45, 1.24, 0.23), (-0.09, 0.19, 0.60)))


def test_values_are_those_of_the_file(dng: Callable[..., Path], mosaic: NDArray[np.uint16]) -> None:
    """Every photosite has the value that was written, compressed or not."""
    for compression in ("none", "lossless-jpeg"):
        sensor = RawFrame(dng(compression=compression)).sensor()
        assert np.array_equal(sensor.values, mosaic)
        assert sensor.values.dtype == np.uint16


def test_as_shot_white(dng: Callable[..., Path]) -> None:
    """DNG 1.4: AsShotNeutral is the camera's response to a neutral; multipliers are its reciprocals."""
    sensor = RawFrame(dng(as_shot_neutral=(0.4, 1.0, 0.8))).sensor()
    assert sensor.as_shot == pytest.approx([2.5, 1, 1.25], rel=1e-5)
    assert sensor.as_shot_problem == ""


def test_no_as_shot_white(dng: Callable[..., Path]) -> None:
    """A file without AsShotNeutral has none (LibRaw reports 0, 1, 0), and the reason is said."""
    sensor = RawFrame(dng(as_shot_neutral=None)).sensor()
    assert sensor.as_shot is None
    assert "no usable as-shot white" in sensor.as_shot_problem


def test_values_balanced_by_the_camera(dng: Callable[..., Path]) -> None:
    """Grey values with a white of 1, 1, 1 stay as they are, and the light is unknown."""
    sensor = RawFrame(dng(as_shot_neutral=(1.0, 1.0, 1.0))).sensor()
    assert sensor.as_shot is not None
    assert (sensor.as_shot.tolist(), sensor.daylight.tolist()) == ([1, 1, 1], [1, 1, 1])
    assert sensor.xyz_to_camera is None
    assert "for which light is unknown" in sensor.doubts[0]


def test_a_white_of_ones_that_nobody_stated(dng: Callable[..., Path], mosaic: NDArray[np.uint16]) -> None:
    """Values with half the red and two thirds of the blue, and a white of 1, 1, 1: that is no white."""
    values = mosaic.astype(np.float64) - 512
    values[::2, ::2] *= 0.5
    values[1::2, 1::2] *= 0.66
    sensor = RawFrame(dng((values + 512).astype(np.uint16), as_shot_neutral=(1.0, 1.0, 1.0))).sensor()
    assert sensor.as_shot is None
    assert "1, 1, 1" in sensor.as_shot_problem
    assert sensor.xyz_to_camera is not None


def test_the_files_matrix(dng: Callable[..., Path]) -> None:
    """DNG 1.4: ColorMatrix1 takes XYZ to the camera's own RGB; all three of our matrices follow from it."""
    sensor = RawFrame(dng()).sensor()
    srgb_to_camera = COLOR_MATRIX @ SRGB_TO_XYZ
    sums = srgb_to_camera.sum(axis=1)
    assert sensor.daylight == pytest.approx(sums[1] / sums, rel=2e-4)
    assert sensor.camera_to_srgb == pytest.approx(np.linalg.inv(srgb_to_camera / sums[:, None]), abs=2e-4)
    assert sensor.xyz_to_camera == pytest.approx(COLOR_MATRIX / sums[1], abs=2e-4)
    assert sensor.camera_to_srgb.sum(axis=1) == pytest.approx(np.ones(3), abs=1e-12)


def test_no_matrix_is_said(dng: Callable[..., Path]) -> None:
    """A file of an unknown camera without a matrix keeps the camera's own colours, and that is a doubt."""
    sensor = RawFrame(dng(color_matrix=None)).sensor()
    assert np.array_equal(sensor.camera_to_srgb, np.eye(3))
    assert "colour matrix" in sensor.doubts[0]


def test_white_below_black_is_damage(dng: Callable[..., Path]) -> None:
    """Levels that leave no room for a picture are refused."""
    with pytest.raises(FrameError, match="is not above black level") as caught:
        RawFrame(dng(black=5000, white=4000)).sensor()
    assert caught.value.code == "frame-damaged"
