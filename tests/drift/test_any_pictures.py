"""Whatever two pictures are, drift is finite, turns its sign with them, and is 0 of a picture with itself.

Deterministic: the same pairs in every run; more of them with ``DRIFTLINE_DEEP``.
"""

from __future__ import annotations

import os
from collections.abc import Callable

import numpy as np
import pytest

from drift.pictures import NAMES, Picture, photograph
from driftline.drift import measure_drift
from driftline.drift.causes import UNSIGNED

SEEDS = range(400 if os.environ.get("DRIFTLINE_DEEP") else 40)
Random = np.random.Generator


def _painted(random: Random) -> Picture:
    h, w = (int(n) for n in random.integers(16, 220, 2))
    picture = np.zeros((h, w, 3), np.uint8)
    picture[h // 3 :, w // 4 :] = random.integers(0, 256, 3)
    return picture


PICTURES: tuple[Callable[[Random], Picture], ...] = (
    lambda random: photograph(NAMES[random.integers(5)]),
    lambda random: random.integers(0, 256, (*random.integers(16, 220, 2), 3)).astype(np.uint8),
    lambda random: np.broadcast_to(random.random(3), (*random.integers(16, 220, 2), 3)),
    lambda random: np.repeat(np.linspace(0, 1, 150)[None, :, None], 90, axis=0).repeat(3, axis=2),
    _painted,
    lambda random: (random.random((*random.integers(16, 220, 2), 3)) * 65535).astype(np.uint16),
    lambda random: photograph(NAMES[random.integers(5)])[:18, : random.integers(16, 400)],
    lambda random: photograph("chelsea") * np.array([1, 0, 0], np.uint8),
    lambda random: photograph("coffee") // 64 * 64,
)
EDITS: tuple[Callable[[Picture, Random], Picture], ...] = (
    lambda p, random: p * random.uniform(0, 4),
    lambda p, random: p ** random.uniform(0.2, 5),
    lambda p, random: p @ random.uniform(-0.5, 1, (3, 3)),
    lambda p, random: p + random.normal(0, 0.2, p.shape),
    lambda p, random: 1 - p,
    lambda p, random: np.round(p * 3) / 3,
    lambda p, random: np.repeat(p.mean(axis=-1, keepdims=True), 3, axis=-1),
    lambda p, random: p[random.integers(0, 2) :, random.integers(0, 2) :] if min(p.shape[:2]) > 17 else p,
)


def _pair(seed: int) -> tuple[Picture, Picture, bool]:
    random = np.random.default_rng(seed)
    a = PICTURES[random.integers(len(PICTURES))](random)
    if random.random() < 0.2:
        return a, PICTURES[random.integers(len(PICTURES))](random), bool(random.random() < 0.5)
    top = np.iinfo(a.dtype).max if np.issubdtype(a.dtype, np.integer) else 1
    b = EDITS[random.integers(len(EDITS))](a / top, random)
    return a, np.clip(b, 0, 1).astype(random.choice([np.float32, np.float64])), bool(random.random() < 0.5)


@pytest.mark.parametrize("seed", SEEDS)
def test_any_two_pictures_are_measured_or_refused(seed: int) -> None:
    """No pair fails, no number is infinite, and exchanging the pair turns every sign."""
    a, b, registered = _pair(seed)
    there, back = (measure_drift(*pair, registered=registered).causes for pair in ((a, b), (b, a)))
    for key, cause in there.items():
        assert (cause.value is None) == (back[key].value is None), (key, cause.reason, back[key].reason)
        if cause.value is not None:
            mirrored = back[key].value if key in UNSIGNED else -back[key].value
            assert np.isfinite(cause.value)
            assert cause.value == pytest.approx(mirrored, abs=1e-5, rel=1e-5), key
        else:
            assert cause.reason
    assert {cause.value for cause in measure_drift(a, a).causes.values()} <= {0.0, None}
