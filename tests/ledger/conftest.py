"""A small ledger, and plain git to look at it from outside."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from driftline.ledger import Ledger

FOG = """\
format = 1
name = "tram-fog"
about = "soft toe and cold shadows for wet grey mornings"

[exposure]
ev = 0.35   # a third of a stop
"""

QUAY = 'name = "quay-night"\n[curve]\nslope = 1.2\n'

PlainGit = Callable[..., str]


@pytest.fixture(autouse=True)
def own_surroundings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test sees the configuration of whoever runs it, nor variables that would lead git elsewhere."""
    for name in [name for name in os.environ if name.startswith("GIT_")]:
        monkeypatch.delenv(name)
    home = tmp_path / "home"
    home.mkdir()
    (home / ".gitconfig").write_text("[user]\n\tname = A Tester\n\temail = tester@example.org\n")
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.delenv("XDG_CONFIG_HOME", raising=False)


@pytest.fixture(scope="session")
def pattern(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A ledger that each test gets a copy of."""
    return Ledger.create(
        tmp_path_factory.mktemp("pattern") / "looks", {"tram-fog": FOG, "quay-night": QUAY}
    ).path


@pytest.fixture
def ledger(tmp_path: Path, pattern: Path) -> Ledger:
    """A new ledger with two recipes."""
    shutil.copytree(pattern, tmp_path / "looks")
    return Ledger.open(tmp_path / "looks")


@pytest.fixture
def git(ledger: Ledger) -> PlainGit:
    """Plain git in that ledger: its output, or a failure with what it said."""

    def run(*words: str, folder: Path = ledger.path, stdin: str | None = None) -> str:
        done = subprocess.run(
            ["git", "-C", str(folder), *words], input=stdin, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, f"git {' '.join(words)}: {done.stderr or done.stdout}"
        return done.stdout

    return run


@pytest.fixture
def fog(ledger: Ledger) -> Path:
    """The working file of tram-fog."""
    return ledger.path / "recipes" / "tram-fog.toml"
