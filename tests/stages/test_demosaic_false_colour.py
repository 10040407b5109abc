"""False colour on thin lines: black stays black, colours stay colours, noise stays as it is."""

from __future__ import annotations

import numpy as np
import pytest

from driftline.colorimetry.encodings import srgb_encode
from driftline.colorimetry.oklab import srgb_to_oklab
from driftline.pipeline.kernels.demosaic import demosaic as compiled
from driftline.stages import demosaic_false_colour
from driftline.stages.demosaic import demosaic
from driftline.stages.demosaic_false_colour import FAINT, REACH, alternation, without_false_colour
from libraw_interpolation import decoder
from neutral_pictures import false_colour, rings, slanted_lines, small_type
from patterns import SIX_BY_SIX, seen_through

PAPER = np.array([0.75, 0.75, 0.75])


ON_LINE = np.array([[6 + at // 2, at] for at in range(24)])
"""A line that falls one row in two columns."""


def line(depth):
    """Green of a picture with one dark line."""
    green = np.full((24, 24), 0.6, np.float32)
    green[tuple(ON_LINE.T)] -= depth
    return green


def blotched(amount=0.08):
    """Colour differences that are wrong along that line: red here, blue there."""
    differences = np.zeros((2, 24, 24), np.float32)
    differences[0][tuple(ON_LINE[:12].T)] = amount
    differences[1][tuple(ON_LINE[12:].T)] = amount
    return differences


ALIKE = np.ones((2, 24, 24), np.float32)


def test_blotches_on_a_dark_line_go():
    """On a line that stands out, in surroundings that agree, next to nothing is left."""
    differences = blotched()
    before = differences.copy()
    out = without_false_colour(differences, line(0.4), ALIKE)
    assert out.dtype == np.float32
    assert np.abs(out[:, 3:-3, 3:-3]).max() < 1e-6
    np.testing.assert_array_equal(differences, before)


def test_lines_of_a_colour_of_their_own_stay():
    """Where red does not vary as green does, the line is coloured and stays so to a hundredth."""
    out = without_false_colour(blotched(), line(0.4), ALIKE - np.float32(0.8))
    np.testing.assert_allclose(out, blotched(), atol=0.08 * 0.02)


def test_what_hardly_varies_stays():
    """Without an edge in green there is no thin line, so noise in the differences is left as it is."""
    rng = np.random.default_rng(5)
    differences = rng.normal(0, 0.01, (2, 24, 24)).astype(np.float32)
    green = (0.5 + rng.uniform(0, FAINT, (24, 24))).astype(np.float32)
    np.testing.assert_allclose(without_false_colour(differences, green, ALIKE), differences, atol=1e-4)


def test_where_the_differences_around_disagree_they_stay():
    """In colourful texture the median knows nothing, and is hardly followed."""
    rng = np.random.default_rng(6)
    differences = rng.normal(0, 0.3, (2, 60, 60)).astype(np.float32)
    green = rng.uniform(0.2, 0.8, (60, 60)).astype(np.float32)
    out = without_false_colour(differences, green, np.ones((2, 60, 60), np.float32))
    assert np.median(np.abs(out - differences)[:, 3:-3, 3:-3]) < 0.01


@pytest.mark.parametrize(("width", "ink"), [(1, 0.02), (2, 0.02), (1, 0.8)])
def test_thin_lines_have_less_colour_than_libraws(tmp_path, width, ink):
    """On neutral lines at twelve slants, mean OkLab chroma is below two thirds of LibRaw's three passes."""
    mosaic = seen_through(slanted_lines(width, ink=ink, paper=0.25), SIX_BY_SIX)
    theirs = false_colour(decoder(tmp_path)(mosaic, SIX_BY_SIX))
    assert false_colour(compiled(mosaic, SIX_BY_SIX)) < 0.67 * theirs


def test_small_type_has_less_colour_than_libraws(tmp_path):
    """Black type of 7 to 16 pixels comes out with less colour than LibRaw's three passes give it."""
    mosaic = seen_through(small_type(ink=0.02, paper=0.6), SIX_BY_SIX)
    theirs = false_colour(decoder(tmp_path)(mosaic, SIX_BY_SIX))
    assert false_colour(compiled(mosaic, SIX_BY_SIX)) < 0.75 * theirs


@pytest.mark.parametrize(("across", "down"), [(0.45, 0), (0, 0.45), (0.32, 0.32)])
def test_only_texture_alternates(across, down):
    """Waves of 0.45 cycles a photosite do at any slant; half as fine ones do not."""
    y, x = np.indices((60, 60), dtype=np.float32)
    inside = np.s_[REACH:-REACH, REACH:-REACH]
    fine, coarse = (
        alternation(0.5 + np.float32(0.2) * np.cos(2 * np.pi * share * (across * x + down * y)))[inside]
        for share in (1, 0.5)
    )
    assert fine.dtype == np.float32
    assert fine.min() > 0.85
    assert coarse.max() < 0.01


def test_lone_things_and_faint_noise_do_not_alternate():
    """An upright line, a dot, an edge and noise below ``FAINT`` hardly do; a slanted line less than half."""
    upright, dot, edge = np.full((3, 24, 24), 0.6, np.float32)
    upright[:, 12], dot[12, 12], edge[:, 12:] = 0.2, 0.2, 0.2
    noise = 0.5 + np.random.default_rng(7).uniform(0, FAINT / 2, (24, 24)).astype(np.float32)
    for green, most in ((upright, 0.01), (dot, 0.01), (edge, 0.01), (noise, 0.05), (line(0.4), 0.5)):
        assert alternation(green)[REACH:-REACH, REACH:-REACH].max() < most


def test_lone_spikes_do_not_overflow():
    """A place a million times as bright as white gives numbers from 0 to 1."""
    green = np.zeros((24, 24), np.float32)
    green[12, 12] = 1e6
    assert 0 <= alternation(green).min() <= alternation(green).max() <= 1


def test_where_green_alternates_the_median_is_followed():
    """Differences that stray and disagree are drawn further to the median there than elsewhere."""
    rng = np.random.default_rng(8)
    differences = rng.normal(0, 0.05, (2, 24, 24)).astype(np.float32)
    green = rng.uniform(0.2, 0.8, (24, 24)).astype(np.float32)
    elsewhere, there = (
        np.abs(
            without_false_colour(differences, green, ALIKE - np.float32(0.3), np.full((24, 24), a))
            / differences
        )
        for a in np.float32([0, 1])
    )
    assert np.median(there) < 0.5 * np.median(np.abs(elsewhere))


def fine_part():
    """Where those rings have 0.35 to 0.6 cycles a pixel, 10 pixels inside the picture."""
    down, right = np.indices((240, 240))
    cycles = np.hypot(down - 60, right - 60) / 312
    edge = np.minimum(np.minimum(down, 239 - down), np.minimum(right, 239 - right))
    return (cycles > 0.35) & (cycles < 0.6) & (edge >= 10)


def test_fine_rings_have_less_colour_than_libraws(tmp_path):
    """On a neutral zone plate past what the pattern resolves, less chroma and less error than LibRaw's."""
    picture = rings()
    mosaic = seen_through(picture, SIX_BY_SIX)
    theirs, ours = decoder(tmp_path)(mosaic, SIX_BY_SIX), compiled(mosaic, SIX_BY_SIX)
    assert false_colour(ours) < 0.92 * false_colour(theirs)
    assert np.mean(np.square(ours - picture)[fine_part()]) < np.mean(np.square(theirs - picture)[fine_part()])


@pytest.mark.parametrize(
    ("ink", "paper"),
    [((0.7, 0.1, 0.1), (0.1, 0.5, 0.2)), ((0.8, 0.8, 0.8), (0.1, 0.2, 0.7)), ((0, 0, 0), (0.7, 0.1, 0.1))],
)
def test_fine_coloured_rings_keep_their_colour(ink, paper):
    """Red on green, blue on white and red on black: mean OkLab a and b stay within 5 % of the truth's."""
    share = (rings() - 0.05) / 0.7
    picture = (share * np.array(ink) + (1 - share) * np.array(paper)).astype(np.float32)
    found = compiled(seen_through(picture, SIX_BY_SIX), SIX_BY_SIX)
    ours, true = (
        srgb_to_oklab(np.clip(rgb[fine_part()].astype(float), 0, 1))[:, 1:].mean(axis=0)
        for rgb in (found, picture)
    )
    assert np.hypot(*(ours - true)) < 0.05 * np.hypot(*true)


@pytest.mark.parametrize("ink", [(0.7, 0.1, 0.1), (0.1, 0.5, 0.2), (0.1, 0.2, 0.7), (0.8, 0.7, 0.1)])
def test_thin_coloured_lines_keep_their_colour(monkeypatch, ink):
    """On lines of two pixels in bold colours the step costs less than a tenth of a decibel."""
    picture = slanted_lines(2, ink=np.array(ink), paper=PAPER)[:120, :180]
    mosaic = seen_through(picture, SIX_BY_SIX)

    def error():
        shown = srgb_encode(np.clip(demosaic(mosaic, SIX_BY_SIX), 0, 1)) - srgb_encode(picture)
        return np.mean(np.square(shown[10:-10, 10:-10]))

    with_it = error()
    monkeypatch.setattr(demosaic_false_colour, "without_false_colour", lambda differences, *_: differences)
    assert with_it < 1.023 * error()
