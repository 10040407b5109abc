"""Fixtures that every room's tests share."""

from __future__ import annotations

import os
import warnings
from pathlib import Path
from types import ModuleType

import pytest
from hypothesis import settings

# Property tests try the same cases on every run; DRIFTLINE_DEEP=1 looks further, at random.
settings.register_profile("same", derandomize=True, deadline=None, max_examples=60)
settings.register_profile("deep", deadline=None, max_examples=2000)
settings.load_profile("deep" if os.environ.get("DRIFTLINE_DEEP") else "same")

ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="session")
def raws() -> Path:
    """The folder of real raw files, or a skip that says how to give one."""
    folder = os.environ.get("DRIFTLINE_RAWS")
    if not folder or not Path(folder).is_dir():
        pytest.skip("set DRIFTLINE_RAWS to a folder of real raw files (ok/, derived/, bad/)")
    return Path(folder)


@pytest.fixture(scope="session")
def root() -> Path:
    """The checkout these tests stand in."""
    return ROOT


@pytest.fixture(scope="session")
def colour() -> ModuleType:
    """colour-science as the oracle; it warns on import of what it cannot plot, which is not our concern."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import colour
    return colour
