"""A small ledger to be hurt, and the checks that it must pass afterwards."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from driftline.ledger import Ledger

SAVER = Path(__file__).with_name("saver.py")
START = 'name = "tram-fog"\n\n[exposure]\nev = 0.0\n'

deep = os.environ.get("DRIFTLINE_DEEP") == "1"


@pytest.fixture(autouse=True)
def own_surroundings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test sees the configuration of whoever runs it, nor variables that would lead git elsewhere."""
    for name in [name for name in os.environ if name.startswith("GIT_")]:
        monkeypatch.delenv(name)
    (tmp_path / "home").mkdir()
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)


@pytest.fixture
def ledger(tmp_path: Path) -> Ledger:
    """A new ledger with one recipe."""
    return Ledger.create(tmp_path / "looks", {"tram-fog": START})


@pytest.fixture
def start_saver(ledger: Ledger) -> Callable[..., subprocess.Popen[str]]:
    """Start the saving program, as the leader of a process group of its own."""

    def start(*words: str) -> subprocess.Popen[str]:
        return subprocess.Popen(
            [sys.executable, str(SAVER), str(ledger.path), *words],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
        )  # fmt: skip

    return start


@pytest.fixture
def git(ledger: Ledger) -> Callable[..., str]:
    """Plain git in that ledger."""

    def run(*words: str) -> str:
        done = subprocess.run(
            ["git", "-C", str(ledger.path), *words], capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, f"git {' '.join(words)}: {done.stderr or done.stdout}"
        return done.stdout

    return run
