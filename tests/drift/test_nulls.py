"""Where nothing was edited, nothing is read: encodings, sizes, crops, shifts, turns, a slight distortion.

``tests/benchmarks/drift_nulls.py`` prints every cell of the table.
"""

from __future__ import annotations

import os

import pytest

from drift.nulls import above_floor, nulls
from drift.pictures import NAMES, photograph
from driftline.drift import measure_drift

DEEP = bool(os.environ.get("DRIFTLINE_DEEP"))
CHOSEN = NAMES if DEEP else ("chelsea",)


@pytest.mark.parametrize("name", CHOSEN)
def test_nothing_is_read_where_nothing_was_edited(name: str) -> None:
    """No cause leaves its noise floor and no warning is given, whatever was done to the file."""
    left = {}
    for what, reference, other in nulls(photograph(name)):
        drift = measure_drift(reference, other)
        assert drift.verdict == "in keeping", what
        over = above_floor(drift)
        if over:
            left[what] = over
    assert left == {}


def test_a_floor_can_be_left() -> None:
    """A tenth of a stop leaves the floor of exposure (so that the test above means something)."""
    from drift.pictures import edited, exposure

    picture = photograph("chelsea")
    assert set(above_floor(measure_drift(picture, edited(picture, exposure(0.1))))) == {"exposure"}
