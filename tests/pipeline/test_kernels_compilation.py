"""Compiled code kept on disk is taken only while every source compiled into it is the same."""

from __future__ import annotations

import subprocess
import sys

from driftline.pipeline.kernels import cokriging, encoding, following
from driftline.pipeline.kernels.compilation import stamp

CALLER = """
from driftline.pipeline.kernels.compilation import compiled
from driftline.pipeline.kernels.callee import factor


@compiled
def scaled(x):
    return factor() * x
"""
CALLEE = """
from driftline.pipeline.kernels.compilation import compiled


@compiled
def factor():
    return {value}
"""
RUN = """
import importlib.util, os, sys

def load(name):
    spec = importlib.util.spec_from_file_location(f"driftline.pipeline.kernels.{name}", f"{name}.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module

load("callee")
print(load("caller").scaled(10))
"""


def test_a_kernel_is_compiled_again_when_what_it_calls_changed(tmp_path):
    """Same caller, same dates and sizes, another callee: the new answer, not the one kept on disk."""
    (tmp_path / "caller.py").write_text(CALLER)

    def answer(value):
        (tmp_path / "callee.py").write_text(CALLEE.format(value=value))
        done = subprocess.run(
            [sys.executable, "-c", RUN], cwd=tmp_path, capture_output=True, check=True, text=True
        )
        return int(done.stdout)

    assert answer(3) == 30
    assert any((tmp_path / "__pycache__").glob("*.nbc"))
    assert answer(7) == 70


def test_the_stamp_reaches_through_imports():
    """The stamp that numba compares is ours, and differs from file to file."""
    stamps = {module.__name__: stamp(_path(module)) for module in (cokriging, following, encoding)}
    assert len(set(stamps.values())) == 3
    kept = cokriging.write_tile._cache._cache_file
    assert kept._source_stamp == stamps[cokriging.__name__]


def _path(module):
    from pathlib import Path

    return Path(module.__file__)
