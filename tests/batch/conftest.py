"""Workers of these tests find the functions of ``tricks``."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def _workers_find_tricks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).resolve().parents[1]))


@pytest.fixture(autouse=True)
def _an_index_of_ones_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The index that belongs to no ledger is not that of whoever runs the tests."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
