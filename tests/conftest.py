"""Fixtures that every room's tests share."""

from __future__ import annotations

import os
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def raws() -> Path:
    """The folder of real raw files, or a skip that says how to give one."""
    folder = os.environ.get("DRIFTLINE_RAWS")
    if not folder or not Path(folder).is_dir():
        pytest.skip("set DRIFTLINE_RAWS to a folder of real raw files (ok/, derived/, bad/)")
    return Path(folder)
