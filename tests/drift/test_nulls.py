"""Where nothing was edited, nothing is read: encodings, sizes, crops, shifts, turns, a slight distortion.

``tests/benchmarks/drift_nulls.py`` prints every cell of the table. The cells named here leave their floor and
are known to; none of them gives a warning.
"""

from __future__ import annotations

import os

import pytest

from drift.nulls import above_floor, nulls
from drift.pictures import NAMES, photograph
from driftline.drift import measure_drift

DEEP = bool(os.environ.get("DRIFTLINE_DEEP"))
CHOSEN = NAMES if DEEP else ("chelsea",)

KNOWN = {
    ("astronaut", "JPEG 75 4:2:0"): {"clip_low"},
    ("astronaut", "quarter scale, JPEG 90 4:2:2"): {"clip_low"},
    ("coffee", "quarter scale, JPEG 90 4:2:2"): {"clip_high"},
    ("rocket", "JPEG 75 4:2:0"): {"hue"},
    ("rocket", "JPEG 75 4:2:2"): {"hue"},
    ("rocket", "JPEG 85 4:4:4"): {"detail_fine"},
    ("rocket", "orientation 2 mirrored"): {"detail_fine"},
    ("motorcycle", "JPEG 75 4:2:0"): {"residual"},
}
"""By at most a fifth of the floor, but for the picture of 128 pixels (twice)."""


@pytest.mark.parametrize("name", CHOSEN)
def test_nothing_is_read_where_nothing_was_edited(name: str) -> None:
    """No cause leaves its noise floor and no warning is given, whatever was done to the file."""
    left = {}
    for what, reference, other in nulls(photograph(name)):
        drift = measure_drift(reference, other)
        assert drift.verdict == "in keeping", what
        over = set(above_floor(drift)) - KNOWN.get((name, what), set())
        if over:
            left[what] = over
    assert left == {}


def test_a_floor_can_be_left() -> None:
    """A tenth of a stop leaves the floor of exposure (so that the test above means something)."""
    from drift.pictures import edited, exposure

    picture = photograph("chelsea")
    assert set(above_floor(measure_drift(picture, edited(picture, exposure(0.1))))) == {"exposure"}
