"""Imports point downwards only, and each heavy library has one door."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from house.source import MODULES, Module

# From the ground up. A room knows the rooms of the floors below and none of its own floor.
FLOORS = [
    {"errors", "arrays", "first_use"},
    {"colorimetry"},
    {"stages", "frames", "recipe"},
    {"pipeline", "ledger"},
    {"drift", "prints"},
    {"starter"},  # where the starter recipes and demo frames lie
    {"pages", "batch"},
    {"cli"},
]
FLOOR = {room: number for number, rooms in enumerate(FLOORS) for room in rooms}
EXEMPT = {"driftline", "driftline.__main__"}  # the door and the command
ROOT_NAMES = {"", "__version__", "__file__"}  # what a room may take from the package itself

ONE_DOOR = {"rawpy": "frames", "git": "ledger", "typer": "cli", "colour": "colorimetry"}
SLOW = ["numpy", "numba", "scipy", "colour", "rawpy", "git"]

INNER = [module for module in MODULES if module.name not in EXEMPT]


def offences(module: Module) -> list[str]:
    """The imports of a module that do not point downwards, in words."""
    found = []
    for name in sorted(module.imports()):
        root, _, rest = name.partition(".")
        room = rest.partition(".")[0]
        if root != "driftline" or room in ROOT_NAMES or room == module.room:
            continue
        if room not in FLOOR:
            found.append(f"{name}: take it from its room, not from the package root")
        elif FLOOR[room] >= FLOOR[module.room]:
            found.append(f"{name}: {room} does not stand below {module.room}")
    return found


@pytest.mark.parametrize("module", INNER, ids=lambda module: module.name)
def test_room_stands_on_a_floor(module: Module) -> None:
    """Every module belongs to a room that has its place in the layering."""
    assert module.room in FLOOR


@pytest.mark.parametrize("module", INNER, ids=lambda module: module.name)
def test_imports_point_downwards(module: Module) -> None:
    """A room imports from the floors below it only."""
    assert offences(module) == []


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.name)
def test_each_heavy_library_has_one_door(module: Module) -> None:
    """Only frames knows rawpy, only ledger git, only cli typer, only colorimetry colour-science."""
    roots = {name.partition(".")[0] for name in module.imports()}
    assert {library for library in roots & set(ONE_DOOR) if ONE_DOOR[library] != module.room} == set()


def test_the_check_itself_sees_an_upward_import(tmp_path: Path) -> None:
    """A made-up module that reaches upwards, sideways or through the root is caught, however it does."""
    text = """
from driftline import render
from driftline.pages import build_page
from ..recipe import Recipe
import driftline
import driftline.colorimetry
def later():
    driftline.measure_drift
    driftline.__version__
    from driftline.ledger.store import Store
    import_module("driftline.cli")
"""
    path = tmp_path / "balance.py"
    path.write_text(text)
    found = [line.partition(":")[0] for line in offences(Module("driftline.stages.balance", path))]
    assert found == [
        "driftline.cli",
        "driftline.ledger.store.Store",
        "driftline.measure_drift",
        "driftline.pages.build_page",
        "driftline.recipe.Recipe",
        "driftline.render",
    ]


@pytest.mark.parametrize("name", ["driftline", "driftline.cli"])
def test_cold_start_loads_nothing_slow(name: str) -> None:
    """Importing the package or its command line loads none of the slow libraries."""
    code = f"import sys, {name}; print(*sorted(set({SLOW!r}) & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []


def test_numbers_of_colour_load_no_large_library() -> None:
    """Colour temperature needs numpy and nothing larger."""
    code = (
        "import sys; from driftline.colorimetry import xy_to_cct_duv; xy_to_cct_duv((0.31, 0.33));"
        "print(*sorted({'colour', 'scipy', 'numba', 'rawpy', 'git'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []


def loaded(modules: str, among: str) -> list[str]:
    """What is loaded in a fresh process after importing some modules: those whose names match a pattern."""
    code = f"import re, sys, {modules}; print(*sorted(m for m in sys.modules if re.fullmatch({among!r}, m)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return done.stdout.split()


def test_parent_of_a_run_loads_no_kernels() -> None:
    """What plans a run and hands it out loads nothing that only making a print needs."""
    assert loaded("driftline.batch.applying", r"numba|scipy|driftline\.pipeline\.kernels.*") == []


def test_decoder_child_loads_only_what_it_needs() -> None:
    """Beside its library the decoder child loads the messages, and nothing its parent does with frames."""
    assert loaded("driftline.frames.decoder", r"driftline\..*|scipy|numba|pydantic") == [
        "driftline.first_use",
        "driftline.frames",
        "driftline.frames.decoder",
        "driftline.frames.wire",
    ]


def test_worker_loads_its_work_when_it_is_told() -> None:
    """A worker listens before it loads what it is to do; for a print it loads no learning and no ledger."""
    assert loaded("driftline.batch.worker", "numpy|pydantic") == []
    assert loaded("driftline.batch.job", r"driftline\.ledger\..*|driftline\.drift\.learning") == []
