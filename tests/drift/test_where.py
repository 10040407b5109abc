"""Where and how two pictures differ, square by square."""

from __future__ import annotations

import numpy as np
import pytest

from drift.pictures import Edit, chroma, edited, exposure, photograph, to_uint8
from driftline.drift.grid import linear_light
from driftline.drift.views import View
from driftline.drift.where import (
    CLIPPED,
    DARKER,
    LESS_COLOUR,
    LIGHTER,
    MORE_COLOUR,
    OTHER_HUE,
    SQUARES,
    Marks,
    marks,
)


def between(edit: Edit, name: str = "chelsea") -> Marks:
    """The marks of an edit of the left half of a picture."""
    picture = photograph(name)
    other = edited(picture, edit)
    other[:, picture.shape[1] // 2 :] = picture[:, picture.shape[1] // 2 :]
    a, b = (View(linear_light(p, name="a picture", keep=10**9)) for p in (picture, other))
    return marks(a, b)


@pytest.mark.parametrize(
    ("edit", "kind"),
    [
        (exposure(0.4), LIGHTER),
        (exposure(-0.4), DARKER),
        (chroma(1.6), MORE_COLOUR),
        (chroma(0.3), LESS_COLOUR),
        (chroma(1.0, 40), OTHER_HUE),
    ],
)
def test_each_kind_of_edit_has_its_mark_where_it_was_made(edit: Edit, kind: int) -> None:
    """An edit of the left half is marked there by its kind, and nowhere else."""
    found = between(edit)
    columns = found.kind.shape[1]
    assert max(found.kind.shape) == pytest.approx(SQUARES, abs=1)
    left, right = found.ratio[:, : columns // 2 - 1], found.ratio[:, columns // 2 + 1 :]
    assert (left >= 1).mean() > 0.8
    assert (right < 0.05).all()
    noticed = found.kind[:, : columns // 2 - 1][left >= 1]
    assert (noticed == kind).mean() > 0.8


def test_newly_clipped_squares_are_told_as_such() -> None:
    """Where a quarter of a square clips, that is what it is marked for."""
    found = between(exposure(2.5), "rocket")
    assert (found.kind == CLIPPED).any()


def test_equal_pictures_have_no_marks() -> None:
    """Nothing is marked between a picture and itself, nor under faint noise."""
    picture = photograph("coffee")
    noisy = to_uint8(picture / 255 + np.random.default_rng(3).normal(0, 0.01, picture.shape))
    views = [View(linear_light(p, name="a picture", keep=10**9)) for p in (picture, noisy)]
    assert marks(views[0], views[0]).ratio.max() == 0
    assert (marks(*views).ratio >= 1).mean() < 0.02
