"""The public names: what is promised is what can be imported."""

from __future__ import annotations

import ast
from importlib import import_module

import pytest

import driftline
from house.source import MODULES, Module

ROOMS = [module for module in MODULES if module.path.name == "__init__.py" and module.name.count(".") == 1]


def test_public_names_are_those_that_can_be_imported() -> None:
    """``__all__`` is exactly the version and the names that are loaded on first use."""
    assert sorted(driftline.__all__) == sorted({"__version__", *driftline._WHERE})
    assert dir(driftline) == sorted(driftline.__all__)


@pytest.mark.parametrize("name", driftline.__all__)
def test_public_name_resolves(name: str) -> None:
    """Every public name is there, and is the one its room holds."""
    value = getattr(driftline, name)
    if name in driftline._WHERE:
        assert value is getattr(import_module(f"driftline.{driftline._WHERE[name]}"), name)


def test_checkers_see_the_public_names() -> None:
    """The names that type checkers see are those that are loaded on first use, from the same rooms."""
    package = next(module for module in MODULES if module.name == "driftline")
    guarded = next(node for node in package.tree.body if isinstance(node, ast.If))
    lines = [node for node in guarded.body if isinstance(node, ast.ImportFrom)]
    seen = {alias.name: line.module for line in lines for alias in line.names}
    assert seen == {name: f"driftline.{room}" for name, room in driftline._WHERE.items()}


def test_unknown_name_is_an_attribute_error() -> None:
    """A name that is not there is refused as Python does."""
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        driftline.nothing  # noqa: B018


@pytest.mark.parametrize("module", ROOMS, ids=lambda module: module.room)
def test_room_exports_resolve(module: Module) -> None:
    """Every name in a room's ``__all__`` is there, and is named once."""
    room = import_module(module.name)
    names = list(getattr(room, "__all__", ()))
    assert len(names) == len(set(names))
    assert [name for name in names if not hasattr(room, name)] == []
