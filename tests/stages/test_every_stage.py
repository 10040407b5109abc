"""The set of checks that every per-pixel stage passes."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np
import pytest

from driftline.stages.chroma import HueBand, chroma
from driftline.stages.curve import curve
from driftline.stages.exposure import exposure
from driftline.stages.finish import finish
from driftline.stages.gamut import gamut
from driftline.stages.grain import grain
from driftline.stages.mono import FILTER_WEIGHTS, mono
from driftline.stages.split import split
from driftline.stages.standing import standing

Stage = Callable[[Any], Any]

IDENTITIES: dict[str, Stage] = {
    "exposure": exposure,
    "curve": curve,
    "chroma": chroma,
    "split": split,
    "finish": finish,
    "grain": grain,
}
ACTIVE: dict[str, Stage] = {
    "exposure": partial(exposure, ev=0.7),
    "curve": partial(curve, slope=1.3, toe=0.5, shoulder=0.5),
    "standing": standing,
    "chroma": partial(chroma, scale=1.2, bands=[HueBand(30, 40, turn=5, scale=1.2, lightness=0.05)]),
    "mono": partial(mono, weights=FILTER_WEIGHTS["red"]),
    "split": partial(split, low=(250, 0.02), high=(80, 0.02)),
    "gamut": gamut,
}


@pytest.fixture
def picture() -> np.ndarray:
    """A deterministic picture with darks, lights and colours."""
    return np.random.default_rng(7).uniform(0.01, 0.9, (12, 18, 3)).astype(np.float32)


@pytest.mark.parametrize("name", IDENTITIES)
def test_defaults_are_the_identity(name: str, picture: np.ndarray) -> None:
    """A stage at its defaults returns the very same values."""
    assert np.array_equal(IDENTITIES[name](picture), picture)


@pytest.mark.parametrize("name", ACTIVE)
def test_an_active_stage_changes_the_picture_and_keeps_float32(name: str, picture: np.ndarray) -> None:
    """The output is new, float32 and of the same shape."""
    out = ACTIVE[name](picture)
    assert out.dtype == np.float32
    assert out.shape == picture.shape
    assert not np.array_equal(out, picture)


@pytest.mark.parametrize("name", ACTIVE)
def test_the_input_is_not_written(name: str, picture: np.ndarray) -> None:
    """A stage works on read-only input and leaves it as it was."""
    before = picture.copy()
    picture.setflags(write=False)
    ACTIVE[name](picture)
    assert np.array_equal(picture, before)


@pytest.mark.parametrize("name", ACTIVE)
def test_any_leading_shape_gives_the_same_numbers(name: str, picture: np.ndarray) -> None:
    """One pixel, a row or a picture: the same pixel gets the same value, so strips equal the whole."""
    whole = ACTIVE[name](picture)
    assert np.allclose(ACTIVE[name](picture.reshape(-1, 3)), whole.reshape(-1, 3), rtol=1e-6, atol=1e-7)
    assert np.allclose(ACTIVE[name](picture[3, 4]), whole[3, 4], rtol=1e-6, atol=1e-7)


@pytest.mark.parametrize("name", ACTIVE)
def test_odd_values_stay_where_they_are(name: str, picture: np.ndarray) -> None:
    """Negatives, huge values and not-a-number in one pixel never reach another pixel, and raise nothing."""
    clean = ACTIVE[name](picture)
    picture[0, 0] = [-0.5, 1e4, np.inf]
    picture[0, 1] = np.nan
    with np.errstate(all="ignore"):
        out = ACTIVE[name](picture)
    assert np.allclose(out[1:], clean[1:], rtol=1e-6, atol=1e-7)
