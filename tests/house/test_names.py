"""Names and places: the top level, modules, rooms, tests, and no path of a machine."""

from __future__ import annotations

import ast
import re
import tempfile
from pathlib import Path

import pytest

from house.source import MODULES, ROOT, TEST_FILES, Module, tracked_files

TOP_FILES = {"README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml"}
TOP_FOLDERS = {"recipes", "engine", "tests", "demo_raws"}
NAMES_THAT_SAY_NOTHING = {"utils", "helpers", "common", "core", "manager", "handler", "process", "data"}
OTHER_TEST_FOLDERS = {"house", "properties", "golden", "crash", "benchmarks", "demo"}
ROOMS = [module for module in MODULES if module.path.name == "__init__.py" and module.name.count(".") == 1]


def test_top_level() -> None:
    """The top level holds the fixed files and folders, and dot-files, and nothing else."""
    places = [path.relative_to(ROOT).parts for path in tracked_files()]
    visible = [parts for parts in places if not parts[0].startswith(".")]
    assert {parts[0] for parts in visible if len(parts) > 1} <= TOP_FOLDERS
    assert {parts[0] for parts in visible if len(parts) == 1} <= TOP_FILES


def test_the_engine_holds_one_package() -> None:
    """engine/ is the source root and holds driftline alone."""
    places = [path.relative_to(ROOT).parts for path in tracked_files()]
    assert {parts[1] for parts in places if parts[0] == "engine"} == {"driftline"}


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.name)
def test_module_names_say_something(module: Module) -> None:
    """No module or folder is called utils, helpers, common, core, manager, handler, process or data."""
    assert not set(module.name.split(".")) & NAMES_THAT_SAY_NOTHING


def test_tests_repeat_the_rooms() -> None:
    """Each folder of tests is named after a room (or is one of the few that cut across them)."""
    rooms = {module.room for module in ROOMS}
    folders = {path.relative_to(ROOT / "tests").parts[0] for path in TEST_FILES}
    assert {name for name in folders if not name.endswith(".py")} <= rooms | OTHER_TEST_FOLDERS


@pytest.mark.parametrize("path", TEST_FILES, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_every_test_says_what_it_states(path: Path) -> None:
    """Every test has a docstring."""
    nodes = ast.walk(ast.parse(path.read_text(encoding="utf-8")))
    tests = [node for node in nodes if isinstance(node, ast.FunctionDef) and node.name.startswith("test_")]
    assert [node.name for node in tests if not ast.get_docstring(node)] == []


@pytest.mark.parametrize("module", ROOMS, ids=lambda module: module.room)
def test_room_introduces_itself(module: Module) -> None:
    """A room's ``__init__`` says what it owns and what to read first."""
    text = (ast.get_docstring(module.tree) or "").lower()
    assert re.search(r"\bowns?\b", text)
    assert "first" in text


def test_no_machine_paths() -> None:
    """No tracked file names a folder of the machine it was written or is tested on."""
    pattern = _machine_path()
    named = []
    for path in tracked_files():
        text = path.read_bytes().decode("utf-8", errors="replace")
        named += [f"{path.relative_to(ROOT)}: {found[0]}" for found in pattern.finditer(text)]
    assert named == []


def test_a_machine_path_is_noticed() -> None:
    """The folder of this very checkout would be found in a file, an address of the web would not."""
    assert _machine_path().search(f'open("{ROOT}/notes.txt")')
    assert not _machine_path().search(f"https://example.org{ROOT}/notes.txt")


def _machine_path() -> re.Pattern[str]:
    """Absolute paths into this checkout, the folder it stands in or the home folder; some are everyone's."""
    temporary = Path(tempfile.gettempdir()).resolve()
    everyones = {Path("/home"), Path("/Users"), temporary, *temporary.parents}
    folders = {ROOT, ROOT.parent, Path.home()} - everyones
    starts = [re.escape(str(folder)) for folder in sorted(folders)]
    return re.compile(rf"(?<![\w./~-])(?:{'|'.join(starts)})(?![\w.-])")
