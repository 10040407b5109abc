"""Lint, format and types, as tests."""

from __future__ import annotations

import subprocess
import sys

from house.source import ROOT


def _run(*command: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_lint() -> None:
    """``ruff check`` finds nothing in engine, tests and demo_raws."""
    _run("ruff", "check", "--quiet", "engine", "tests", "demo_raws")


def test_format() -> None:
    """``ruff format`` would change nothing."""
    _run("ruff", "format", "--check", "--quiet", "engine", "tests", "demo_raws")


def test_types() -> None:
    """``mypy --strict`` finds nothing in the package."""
    _run("mypy", "--strict")
