"""The compiled undoing of a lens."""

from __future__ import annotations

import hashlib

import numpy as np
import pytest

from driftline.pipeline.kernels import lens as compiled
from driftline.stages.lens import lens as plainly
from pipeline.test_kernels_bits import worked_out

TERMS = [
    {"distortion": (-0.016, 0.0, 0.0), "falloff_ev": (0.27, 0.05, 0.0)},
    {"distortion": (0.02, -0.01, 0.004)},
    {"falloff_ev": (0.5,)},
]


def picture() -> np.ndarray:
    """Three planes of whole-number arithmetic, some below 0 and some above 1."""
    return np.stack([worked_out() * 2 - np.float32(0.25 * n) for n in range(3)], axis=-1)


@pytest.mark.parametrize("terms", TERMS)
def test_it_is_the_reference(terms: dict[str, tuple[float, ...]]) -> None:
    """The same values as plain numpy, whatever the tiles."""
    assert np.array_equal(compiled.lens(picture(), **terms), plainly(picture(), **terms))


def test_known_bits() -> None:
    """The bits are those written down here; others change pixels and need a new edition."""
    found = compiled.lens(picture(), **TERMS[0])
    assert hashlib.sha256(found.tobytes()).hexdigest() == (
        "ac0ab3613cef912961ec7b498812b07637318bb2e519317b2495742057651be0"
    )
