"""How much is newly clipped, and where."""

from __future__ import annotations

import numpy as np
import pytest

from drift.pictures import Picture, photograph
from driftline.drift import measure_drift


@pytest.mark.parametrize(
    ("rows", "columns", "place"),
    [
        (np.s_[:60], np.s_[:120], "the upper left"),
        (np.s_[-60:], np.s_[-120:], "the lower right"),
        (np.s_[120:180], np.s_[180:270], "the middle"),
    ],
)
@pytest.mark.parametrize(("level", "key"), [(255, "clip_high"), (0, "clip_low")])
def test_a_clipped_patch_is_counted_and_placed(
    rows: slice, columns: slice, place: str, level: int, key: str
) -> None:
    """A patch set to white or black reads its share of the picture in points, and where it lies."""
    picture = photograph("chelsea")
    other = picture.copy()
    other[rows, columns] = level
    share = 100 * np.mean((other != picture).any(axis=-1))
    drift = measure_drift(picture, other, registered=True)
    assert drift.causes[key].value == pytest.approx(share, abs=0.1)
    assert drift.clipped_where[key] == place
    back = measure_drift(other, picture, registered=True)
    assert back.causes[key].value == pytest.approx(-share, abs=0.1)
    assert back.causes[key].verdict == "in keeping"


def strewn(share: float, edge: int) -> Picture:
    """A photograph with squares of white strewn over a share of it."""
    picture = photograph("chelsea").copy()
    rows, columns = (n // edge for n in picture.shape[:2])
    chosen = np.random.default_rng(1).random((rows, columns)) < share
    where = np.kron(chosen, np.ones((edge, edge), bool))
    picture[: rows * edge, : columns * edge][where] = 255
    return picture


def test_what_is_spread_has_no_place() -> None:
    """Clipping strewn over the picture is counted and not placed."""
    drift = measure_drift(photograph("chelsea"), strewn(0.05, 4), registered=True)
    assert drift.causes["clip_high"].value == pytest.approx(5, abs=0.3)
    assert "clip_high" not in drift.clipped_where


def test_single_places_do_not_count() -> None:
    """What is no larger than a pixel of the grid is what JPEG encoding leaves along edges, not clipping."""
    drift = measure_drift(photograph("chelsea"), strewn(0.05, 1), registered=True)
    assert abs(drift.causes["clip_high"].value or 0) < 0.1
