"""The examples in docstrings are run."""

from __future__ import annotations

import doctest
from importlib import import_module
from pathlib import Path

import pytest

from house.source import MODULES


@pytest.mark.parametrize("name", [module.name for module in MODULES])
def test_examples_hold(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every example in a module's docstrings gives what it says."""
    monkeypatch.chdir(tmp_path)
    lines: list[str] = []
    runner = doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE)
    for example in doctest.DocTestFinder(exclude_empty=True).find(import_module(name)):
        runner.run(example, out=lines.append)
    assert runner.failures == 0, "".join(lines)


def test_a_wrong_example_is_noticed() -> None:
    """An example that gives something else fails (so that the runs above mean something)."""
    example = doctest.DocTestParser().get_doctest(">>> 1 + 1\n3\n", {}, "wrong", None, None)
    assert doctest.DocTestRunner().run(example, out=lambda _: None).failed == 1
