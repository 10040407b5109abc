"""The judged amount and the three verdicts."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from driftline.drift.causes import UNITS, Cause
from driftline.drift.verdict import (
    DEFAULT_BANDS,
    ONE_SIDED,
    Band,
    bands_from,
    judge,
    judge_columns,
    judge_vector,
    strictest,
)
from driftline.errors import UsageError
from driftline.ledger.settings import Settings

EXPOSURE = DEFAULT_BANDS["exposure"]


def test_every_cause_has_bands() -> None:
    """Each cause has a notice limit below its over limit, on both sides."""
    assert list(DEFAULT_BANDS) == list(UNITS)
    for key, band in DEFAULT_BANDS.items():
        assert all(
            0 < notice < over or key in ONE_SIDED for notice, over in (band.limits(1), band.limits(-1))
        )


def test_a_floor_alone_is_never_held_against_the_photographer() -> None:
    """However far plain stands from the camera, an edit of nothing is in keeping."""
    assert judge(2.0, 0.0, 2.0, EXPOSURE).verdict == "in keeping"


def test_coming_back_towards_the_camera_counts_nothing() -> None:
    """An edit against the floor is judged by nothing until it passes the camera rendering."""
    assert judge(0.5, -0.4, 0.1, EXPOSURE).judged == 0
    assert judge(0.5, -0.9, -0.4, EXPOSURE).judged == pytest.approx(-0.4)


@pytest.mark.parametrize("floor", [-0.6, -0.1, 0.0, 0.2, 0.7])
def test_the_judged_amount_grows_with_the_edit_without_jumps(floor: float) -> None:
    """Pushed further, an edit is never judged less; a small push changes the judged amount little."""
    edits = np.linspace(0, 2, 401)
    judged = [abs(judge(floor, e, floor + e, EXPOSURE).judged or 0) for e in edits]
    steps = [b - a for a, b in itertools.pairwise(judged)]
    assert min(steps) >= 0
    assert max(steps) <= 0.005 + 1e-12


@pytest.mark.parametrize(
    ("amount", "verdict"),
    [(0.16, "in keeping"), (0.17, "leaning"), (0.34, "leaning"), (0.35, "overdone"), (-0.35, "overdone")],
)
def test_limits(amount: float, verdict: str) -> None:
    """Below notice in keeping, from there leaning, from the second limit overdone, on either side."""
    assert judge(0.0, amount, amount, EXPOSURE).verdict == verdict


def test_fewer_clipped_pixels_are_no_fault() -> None:
    """Bringing clipped highlights back is never judged; clipping more is."""
    fewer, more = Cause("clip_high", -9.0), Cause("clip_high", 9.0)
    assert judge_columns("clip_high", more, fewer, fewer, DEFAULT_BANDS).judged == 0
    assert judge_columns("clip_high", fewer, more, more, DEFAULT_BANDS).verdict == "overdone"


def test_nothing_is_judged_without_numbers() -> None:
    """A cause without edit or total is not judged."""
    assert judge(None, None, 0.4, EXPOSURE).verdict == "not judged"


def test_a_tint_is_judged_along_the_total() -> None:
    """A split tint is judged as far as it points the way of the total, and not when it undoes the floor."""
    band = DEFAULT_BANDS["split_tint"]
    assert judge_vector(3 + 0j, 4 + 0j, band).judged == 3
    assert judge_vector(3 + 0j, -1 + 0j, band).judged == 0
    assert judge_vector(3 + 0j, 0 + 4j, band).judged == 0


def test_the_strictest_verdict_wins() -> None:
    """One overdone cause makes the whole overdone; without any the whole is not judged."""
    assert strictest(["in keeping", "overdone", "leaning"]) == "overdone"
    assert strictest([]) == "not judged"


def test_a_ledgers_bands_lie_over_the_defaults() -> None:
    """Two or four limits replace a default; what is unknown or upside down is refused by name."""
    bands = bands_from({"chroma": [0.3, 0.6, 0.2, 0.4]})
    assert bands["chroma"] == Band(0.3, 0.6, 0.2, 0.4)
    assert bands["hue"] == DEFAULT_BANDS["hue"]
    assert bands_from(Settings().bands) == {
        key: Band(*band.limits(1), *band.limits(-1)) for key, band in DEFAULT_BANDS.items()
    }
    with pytest.raises(UsageError, match=r"bands\.colour: no such cause"):
        bands_from({"colour": (1, 2)})
    with pytest.raises(UsageError, match=r"bands\.hue: \(9, 3\)"):
        bands_from({"hue": (9, 3)})
