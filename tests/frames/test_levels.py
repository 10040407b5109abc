"""Black levels, white levels, and where photosites stop."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import rawpy
from numpy.typing import NDArray

from driftline.frames import RawFrame
from driftline.frames.levels import saturation_levels

RGGB = np.array([[0, 1], [1, 2]], dtype=np.uint8)
SIX = (
    (1, 1, 0, 1, 1, 2),
    (1, 1, 2, 1, 1, 0),
    (2, 0, 1, 0, 2, 1),
    (1, 1, 2, 1, 1, 0),
    (1, 1, 0, 1, 1, 2),
    (0, 2, 1, 2, 0, 1),
)
PHASES = {
    "rggb": ((0, 1), (1, 2)),
    "grbg": ((1, 0), (2, 1)),
    "gbrg": ((1, 2), (0, 1)),
    "bggr": ((2, 1), (1, 0)),
}
BLOCK = np.array([[500, 512], [520, 530]])


@pytest.mark.parametrize("phase", PHASES)
def test_black_of_each_photosite(dng: Callable[..., Path], phase: str) -> None:
    """DNG 1.4: BlackLevel repeats from the top left of the picture, whatever the colours there are."""
    assert np.array_equal(RawFrame(dng(pattern=PHASES[phase], black=BLOCK)).sensor().black, BLOCK)


@pytest.mark.parametrize("phase", PHASES)
def test_black_agrees_with_libraw(dng: Callable[..., Path], phase: str) -> None:
    """Every photosite's black is the one that LibRaw lists for its colour index (the second green is 3)."""
    path = dng(pattern=PHASES[phase], black=BLOCK)
    with rawpy.imread(str(path)) as raw:
        peer = np.array(raw.black_level_per_channel)[raw.raw_colors_visible]
    black = RawFrame(path).sensor().black
    assert np.array_equal(np.tile(black, (60, 80)), peer)


@pytest.mark.parametrize(
    "block", [BLOCK, np.arange(500, 536).reshape(6, 6), np.arange(500, 509).reshape(3, 3), np.array([[512]])]
)
def test_black_in_blocks_on_a_pattern_of_six(dng: Callable[..., Path], block: NDArray[np.int64]) -> None:
    """A block that divides 6 × 6 repeats over the pattern (LibRaw gives its least level only)."""
    sensor = RawFrame(dng(pattern=SIX, black=block)).sensor()
    assert np.array_equal(sensor.black, np.tile(block, (6 // block.shape[0], 6 // block.shape[1])))
    assert sensor.doubts == ()


def test_black_in_blocks_that_do_not_fit_is_averaged_and_said(dng: Callable[..., Path]) -> None:
    """A 4 × 4 block on a 2 × 2 pattern: the mean of the four levels that fall on each photosite."""
    block = np.arange(500, 516).reshape(4, 4)
    sensor = RawFrame(dng(black=block)).sensor()
    assert np.array_equal(sensor.black, [[505, 506], [509, 510]])
    assert "blocks of 4 × 4" in sensor.doubts[0]


def test_black_begins_at_the_active_area(dng: Callable[..., Path]) -> None:
    """LibRaw moves an odd corner of the active area by one; the block moves with it."""
    sensor = RawFrame(dng(black=BLOCK, active_area=(5, 7, 115, 157))).sensor()
    assert np.array_equal(sensor.black, BLOCK[::-1, ::-1])
    assert np.array_equal(sensor.pattern, RGGB[::-1, ::-1])


def test_planes_have_levels_of_their_own(dng: Callable[..., Path]) -> None:
    """Black and white of linear planes, one each (LibRaw keeps one white, less the spread of the blacks)."""
    planes = np.random.default_rng(1).integers(600, 15000, (60, 80, 3)).astype(np.uint16)
    sensor = RawFrame(dng(planes, black=[100, 120, 140], white=[16000, 16383, 15500])).sensor()
    assert sensor.black.tolist() == [100, 120, 140]
    assert sensor.white.tolist() == [16000, 16383, 15500]


def test_white(dng: Callable[..., Path]) -> None:
    """One white level holds for all colours of a mosaic."""
    assert RawFrame(dng(white=15500)).sensor().white.tolist() == [15500] * 3


def scene(top: float, spread: float) -> NDArray[np.float64]:
    """A smooth mosaic of a wide range of light that goes far beyond ``top``, where photosites stop."""
    rng = np.random.default_rng(5)
    down, right = np.mgrid[0:200, 0:300]
    light = 500 + 14_000 * (down / 200) * (0.5 + right / 300) + rng.normal(0, 40, (200, 300))
    stop = top + rng.normal(0, spread, light.shape)
    return np.minimum(light, stop)


def saturation(values: NDArray[np.float64], *, known: bool = False) -> list[float]:
    """Saturation levels of an RGGB mosaic with black 500 and white 10 500."""
    black, white = np.full((2, 2), 500.0), np.full(3, 10_500.0)
    counts = values.clip(0, 65535).astype(np.uint16)
    return saturation_levels(counts, RGGB, black, white, most=int(counts.max()) if known else None).tolist()


def test_photosites_that_stop_short_of_white() -> None:
    """A soft pile-up at 0.9 of the range is found in every colour, at its lower edge."""
    assert saturation(scene(9_500, 15)) == pytest.approx([9_460] * 3, abs=40)


def test_a_sharp_stop_is_found_exactly() -> None:
    """Where all clipped photosites have one value, that is the level."""
    assert saturation(scene(9_600, 0)) == [9_600] * 3


def test_nothing_clipped_is_white() -> None:
    """Light that fades out below white shows no stop."""
    assert saturation(scene(1e6, 0) * 0.5) == [10_500] * 3


@pytest.mark.parametrize("share", [0.75, 0.785, 0.795, 0.81])
def test_knowing_the_largest_value_changes_nothing(share: float) -> None:
    """About the top fifth, where piles begin to be looked for: with it and without it the same."""
    values = scene(500 + share * 10_000, 0)
    assert saturation(values, known=True) == saturation(values)


def test_a_bright_wall_is_not_clipped() -> None:
    """A smooth bright thing piles up at a level of its own in each colour: white stays white."""
    values = np.random.default_rng(6).normal(3_000, 500, (200, 300))
    values[50:150, 50:150] = np.random.default_rng(7).normal(9_300, 12, (100, 100))
    values[1::2, 1::2] *= 0.6
    values[::2, ::2] *= 0.5
    assert saturation(values) == [10_500] * 3


@pytest.mark.parametrize(
    ("name", "levels"),
    [("d30.crw", (3800, 3830)), ("d1.nef", (3960, 4095)), ("chart-bordered.dng", (15000, 15000))],
)
def test_real_photosites(raws: Path, name: str, levels: tuple[int, int]) -> None:
    """Where real photosites stop, against histograms looked at by eye.

    d30.crw has thousands of photosites of every colour at 3806 … 3830 of 4095; d1.nef has 853 red at 4095
    and its greens end at 3998; in chart-bordered.dng nothing is clipped.
    """
    found = RawFrame(raws / "ok" / name).sensor().saturation
    assert found.min() >= levels[0]
    assert found.max() <= levels[1]


def test_one_colour_that_stops_while_the_others_go_on_is_clipped() -> None:
    """A sky behind a lossy codec: green stands at 0.95, smeared, while red and blue still rise."""
    rng = np.random.default_rng(5)
    light = rng.uniform(0.3, 1.6, (400, 600))
    sky = np.stack([0.45 * light, np.minimum(light, 0.95) + rng.normal(0, 0.004, light.shape), 0.65 * light])
    values = np.empty((800, 1200), np.uint16)
    for (row, column), colour in np.ndenumerate(RGGB):
        values[row::2, column::2] = np.clip(sky[colour] * 16383, 0, 16383)
    found = saturation_levels(values, RGGB, np.zeros((2, 2)), np.full(3, 16383.0))
    assert found[1] == pytest.approx(0.94 * 16383, rel=0.015)
    assert found[[0, 2]].tolist() == [16383, 16383]


def test_a_bright_smooth_wall_is_not_clipped() -> None:
    """All colours pile up, each at its own level, and none goes on: nothing is said to stop."""
    rng = np.random.default_rng(6)
    light = np.where(np.arange(600) < 200, rng.uniform(0.2, 0.8, (400, 600)), 0.92)
    light = light + rng.normal(0, 0.004, light.shape)
    values = np.empty((800, 1200), np.uint16)
    for (row, column), colour in np.ndenumerate(RGGB):
        values[row::2, column::2] = np.clip((0.5, 1.0, 0.7)[colour] * light * 16383, 0, 16383)
    found = saturation_levels(values, RGGB, np.zeros((2, 2)), np.full(3, 16383.0))
    assert found.tolist() == [16383, 16383, 16383]
