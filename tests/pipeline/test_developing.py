"""From frame and recipe to picture."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import demo_frames
from driftline.colorimetry.encodings import srgb_decode
from driftline.pipeline import KeptFrame, develop, keep, open_frame
from driftline.pipeline.developing import quantise
from driftline.pipeline.strips import in_strips
from driftline.recipe import (
    NEUTRAL,
    NO_CORRECTION,
    Correction,
    Crop,
    Dodge,
    Exposure,
    Finish,
    Grain,
    Mono,
    Recipe,
    White,
)
from driftline.stages.resize import resize

FRAME = demo_frames.named("grey-middle")


def test_a_picture_is_upright_encoded_and_of_the_size_asked_for() -> None:
    """float32 in [0, 1]; the longer side as asked; 8 and 16 bits are its rounding."""
    frame = open_frame(FRAME)
    picture = develop(frame, NEUTRAL, long_edge=300)
    assert picture.dtype == np.float32
    assert max(picture.shape[:2]) == 300
    assert picture.min() >= 0
    assert picture.max() <= 1
    height, width = frame.camera_rgb().shape[:2]
    assert (picture.shape[0] < picture.shape[1]) == (height < width)
    for depth in (8, 16):
        assert np.array_equal(develop(frame, NEUTRAL, long_edge=300, depth=depth), quantise(picture, depth))


@pytest.mark.parametrize("crop", [(0, 0, 800, 1200), (3, 5, 661, 1042)])
@pytest.mark.parametrize("name", ["night-wide", "grey-middle", "shade-middle"])
def test_tile_by_tile_gives_the_bits_of_the_whole(name: str, crop: tuple[int, int, int, int]) -> None:
    """A print of a 2 × 2 mosaic is developed without its camera RGB ever being there; not a bit differs.

    All three frames clip, one is turned; the second crop begins within a cell of the pattern.
    """
    recipe = Recipe(exposure=Exposure(ev=0.5), white=White(shift=10))
    straight, whole = (open_frame(demo_frames.named(name)) for _ in range(2))
    for frame in (straight, whole):
        vars(frame)["_sensor"] = replace(frame.sensor(), crop=crop)
    whole.developable()
    assert straight.by_tiles
    assert not whole.by_tiles
    assert np.array_equal(develop(straight, recipe, depth=8), develop(whole, recipe, depth=8))


def test_half_size_is_what_the_demosaicked_picture_averages_to() -> None:
    """From cells of photosites, and from every pixel: the same mean light, the same picture."""
    frame = open_frame(demo_frames.named("grey-tight"))
    from_cells = frame.developable(long_edge=400)
    averaged = resize(frame.developable(), height=from_cells.shape[0], width=from_cells.shape[1])
    assert from_cells.mean(axis=(0, 1)) == pytest.approx(averaged.mean(axis=(0, 1)), rel=2e-3)
    assert np.corrcoef(from_cells.ravel(), averaged.ravel())[0, 1] > 0.998


def test_never_larger_than_the_frame() -> None:
    """A long edge beyond the frame keeps every pixel and makes none up."""
    frame = open_frame(FRAME)
    assert develop(frame, NEUTRAL, long_edge=99_999).shape == frame.camera_rgb().shape


def test_compiled_and_reference_agree_on_every_demo_frame() -> None:
    """At most one code value apart, on less than 0.1 % of values."""
    for path in demo_frames.paths():
        frame = open_frame(path)
        fast, slow = (
            develop(frame, NEUTRAL, long_edge=450, depth=8, reference=reference).astype(int)
            for reference in (False, True)
        )
        assert np.abs(fast - slow).max() <= 1
        assert (fast != slow).mean() < 1e-3


def test_a_draft_is_close_to_the_full_development() -> None:
    """Reduced before or after the curve: 1.1 code values in the mean at most, and of the same size."""
    frame = open_frame(FRAME)
    full, draft = (develop(frame, NEUTRAL, long_edge=225, draft=draft) for draft in (False, True))
    assert full.shape == draft.shape
    assert np.abs(full - draft).mean() * 255 < 1.1


def test_exposure_in_the_recipe_adds_to_the_anchor() -> None:
    """+0.5 EV on an anchor of 0.25 is what +0.75 EV metered gives."""
    frame = open_frame(FRAME)
    anchored = develop(frame, Recipe(exposure=Exposure(ev=0.5)), anchor_ev=0.25, long_edge=200)
    metered = develop(
        frame, Recipe(exposure=Exposure(ev=0.75, anchor="metered")), anchor_ev=9.0, long_edge=200
    )
    assert anchored == pytest.approx(metered, abs=1e-6)


def test_monochrome_has_no_colour() -> None:
    """All three channels are equal to rounding."""
    picture = develop(open_frame(FRAME), Recipe(mono=Mono(filter="yellow")), long_edge=200, depth=8)
    assert (np.ptp(picture.astype(int), axis=-1) <= 1).all()


def test_acutance_and_grain_reach_the_picture() -> None:
    """Finish and grain change pixels, and not the mean light by more than 1 %."""
    frame = open_frame(FRAME)
    plain = srgb_decode(develop(frame, NEUTRAL))
    for recipe in (Recipe(finish=Finish(acutance=0.5)), Recipe(grain=Grain(rms_granularity=12.0))):
        changed = srgb_decode(develop(frame, recipe))
        assert not np.array_equal(plain, changed)
        assert changed.mean() == pytest.approx(plain.mean(), rel=0.01)


@pytest.mark.parametrize("of_proof", [False, True])
def test_a_draft_is_as_crisp_as_the_full_picture_reduced(of_proof: bool) -> None:
    """Acutance is of the full frame's pixels: reduced to a third, most of it is gone, in a draft as well."""
    frame = open_frame(FRAME)
    edge, crisp = max(frame.size()) // 3, Recipe(finish=Finish(acutance=1.0))
    kept = KeptFrame(keep(frame))
    edges = []
    for of, draft in ((frame, False), (kept if of_proof else frame, True)):
        plain, sharp = (develop(of, one, long_edge=edge, draft=draft) for one in (NEUTRAL, crisp))
        edges.append(float(np.abs(sharp - plain).mean()))
    assert edges[1] == pytest.approx(edges[0], rel=0.35)


def test_display_p3_holds_the_same_colours_in_smaller_numbers() -> None:
    """A colour inside sRGB has a smaller maximum in the wider space."""
    frame = open_frame(FRAME)
    srgb, p3 = (develop(frame, NEUTRAL, long_edge=200, space=space) for space in ("srgb", "display-p3"))
    assert not np.allclose(srgb, p3, atol=1e-3)
    assert np.ptp(p3, axis=-1).mean() < np.ptp(srgb, axis=-1).mean()


def test_strips_equal_the_whole() -> None:
    """A per-pixel function gives the same in strips as at once."""
    rgb = np.random.default_rng(0).random((700, 501, 3)).astype(np.float32)
    assert np.array_equal(in_strips(np.sqrt, rgb), np.sqrt(rgb))


def test_a_correction_comes_on_top_of_the_look() -> None:
    """+0.3 EV and +8 mired in a correction are what they are in a recipe; the look itself does not know."""
    frame = open_frame(FRAME)
    corrected = develop(frame, NEUTRAL, correction=Correction(ev=0.3, shift=8.0), long_edge=200)
    in_recipe = Recipe(exposure=Exposure(ev=0.3), white=White(shift=8.0))
    assert np.array_equal(corrected, develop(frame, in_recipe, long_edge=200))


def test_crop_turn_and_dodge_reach_the_picture() -> None:
    """The crop's proportions, a picture that is whole after the turn, and one lighter spot."""
    frame = open_frame(FRAME)
    height, width = develop(frame, NEUTRAL).shape[:2]
    cropped = develop(frame, NEUTRAL, correction=Correction(crop=Crop(0.1, 0.2, 0.9, 1.0)), depth=8)
    assert cropped.shape[:2] == (round(height * 0.8), round(width * 0.8))
    turned = develop(frame, NEUTRAL, correction=Correction(turn=2.0), depth=8)
    assert turned.shape[0] < height
    spot = Correction(dodge=Dodge(0.5, 0.5, 0.2, 0.5))
    plain, dodged = (develop(frame, NEUTRAL, correction=c, long_edge=300) for c in (NO_CORRECTION, spot))
    lighter = (dodged - plain).sum(axis=-1)
    rows, columns = lighter.shape
    assert lighter[rows // 2 - 5 : rows // 2 + 5, columns // 2 - 5 : columns // 2 + 5].min() > 0
    assert np.abs(lighter[:20]).max() < 1e-6
