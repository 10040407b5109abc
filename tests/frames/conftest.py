"""What the tests of frames share: small invented sensors, written as DNG."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from making.dng import write_dng
from numpy.typing import NDArray

# XYZ → camera of an invented sensor.
COLOR_MATRIX = ((0.90, -0.30, -0.07), (-0.45, 1.24, 0.23), (-0.09, 0.19, 0.60))


@pytest.fixture(scope="session")
def mosaic() -> NDArray[np.uint16]:
    """(120, 160) values between the usual black and white, all over the range."""
    return np.random.default_rng(7).integers(600, 16000, (120, 160)).astype(np.uint16)


@pytest.fixture
def dng(tmp_path: Path, mosaic: NDArray[np.uint16]) -> Callable[..., Path]:
    """Write a DNG file with any of the writer's settings; gives its path."""

    def write(values: NDArray[np.uint16] | None = None, *, name: str = "frame.dng", **settings: Any) -> Path:
        settings.setdefault("color_matrix", COLOR_MATRIX)
        return write_dng(tmp_path / name, mosaic if values is None else values, **settings)

    return write
