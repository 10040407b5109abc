"""The difference map as a picture."""

from __future__ import annotations

import numpy as np
import pytest

from drift.pictures import edited, exposure, photograph
from drift.shoot import demo
from driftline.drift import difference_map, difference_marks, map_between
from driftline.drift.mapping import PANEL
from driftline.drift.where import CLIPPED, LIGHTER
from driftline.errors import UsageError
from driftline.recipe import parse_recipe


def test_the_map_reads_without_colour() -> None:
    """The third panel and the legend are grey throughout: no meaning is left to a colour."""
    picture = photograph("coffee")
    drawn = map_between(picture, edited(picture, exposure(0.5)))
    assert drawn.dtype == np.uint8
    third = drawn[:, 2 * PANEL + 40 :].astype(int)
    assert np.abs(third[..., 0] - third[..., 2]).max() <= 1
    legend = drawn[-30:].astype(int)
    assert np.abs(legend[..., 0] - legend[..., 2]).max() == 0
    assert legend.min() == 0


def test_marks_are_drawn_where_an_edit_was_made() -> None:
    """An edited picture has black marks in its third panel; an equal one has none."""
    picture = photograph("chelsea")
    marked, plain = (map_between(picture, p) for p in (edited(picture, exposure(0.6)), picture))
    panel = np.s_[40:-45, 2 * PANEL + 60 : -20]
    assert (marked[panel] == 0).mean() > 0.02
    assert (plain[panel] == 0).mean() == 0


def test_pictures_of_different_things_have_no_map() -> None:
    """Two pictures that do not lie on each other are refused, with the reason."""
    with pytest.raises(UsageError, match="do not lie on each other"):
        map_between(photograph("coffee"), photograph("chelsea"))


def test_a_frame_has_a_map_of_a_recipe() -> None:
    """A recipe on a demo frame is drawn beside its camera rendering."""
    recipe = parse_recipe("[exposure]\nev = 0.5\n", source="lighter")
    drawn = difference_map(demo("fog"), recipe)
    assert drawn.shape[1] == 3 * PANEL + 4 * 12


def test_marks_alone_say_where_they_lie_in_the_edit() -> None:
    """Half a stop more on a grey day is lighter nearly everywhere; the squares stay within the picture."""
    found = difference_marks(demo("fog"), parse_recipe("[exposure]\nev = 0.5\n", source="lighter"))
    rows, columns = found.shape
    top, left, height, width = found.part
    assert min(top, left) >= -0.01
    assert max(top + height, left + width) <= 1.01
    assert min(height, width) > 0.8
    kinds = [kind for _, _, kind, _ in found.squares]
    assert len(kinds) > 0.5 * rows * columns
    assert sum(kind in (LIGHTER, CLIPPED) for kind in kinds) > 0.8 * len(kinds)
    assert all(0 <= r < rows and 0 <= c < columns and amount >= 1 for r, c, _, amount in found.squares)
    assert found.against == "camera rendering"
