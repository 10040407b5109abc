"""The tree of errors and its codes, read from the source."""

from __future__ import annotations

import ast
import re

import pytest

from house.source import MODULES, PACKAGE, Module, called

SOURCE = ast.parse((PACKAGE / "errors.py").read_text(encoding="utf-8"))
TREE = {node.name for node in SOURCE.body if isinstance(node, ast.ClassDef)}
KEBAB = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
PIECE = re.compile(r"[a-z0-9-]*")


def raised(module: Module) -> list[tuple[str, ast.expr]]:
    """(class, code) of every error that a module builds."""
    found = []
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Call) and called(node) in TREE:
            named = [keyword.value for keyword in node.keywords if keyword.arg == "code"]
            found += [(called(node), code) for code in [*node.args[:1], *named]]
    return found


def literals(code: ast.expr) -> list[str]:
    """The texts a code can be: one, or those of ``a if … else b``; none if it comes from elsewhere."""
    if isinstance(code, ast.IfExp):
        return literals(code.body) + literals(code.orelse)
    return [code.value] if isinstance(code, ast.Constant) and isinstance(code.value, str) else []


def pieces(code: ast.expr) -> list[str]:
    """The fixed pieces of a code that is put together, like ``f"{kind}-missing"``."""
    parts = code.values if isinstance(code, ast.JoinedStr) else []
    return [part.value for part in parts if isinstance(part, ast.Constant) and isinstance(part.value, str)]


def bases(node: ast.ClassDef) -> set[str]:
    """The last names of a class's bases."""
    return {ast.unparse(base).rpartition(".")[2] for base in node.bases}


@pytest.mark.parametrize("module", MODULES, ids=lambda module: module.name)
def test_codes_are_kebab_case(module: Module) -> None:
    """Every error code in the source is kebab-case, and so are the fixed pieces of one put together."""
    codes = [code for _, code in raised(module)]
    assert [text for code in codes for text in literals(code) if not KEBAB.fullmatch(text)] == []
    assert [text for code in codes for text in pieces(code) if not PIECE.fullmatch(text)] == []


def test_one_code_belongs_to_one_kind_of_error() -> None:
    """A code is used by one class of the tree only, so that it means one thing."""
    kinds: dict[str, set[str]] = {}
    for kind, code in (pair for module in MODULES for pair in raised(module)):
        for text in literals(code):
            kinds.setdefault(text, set()).add(kind)
    assert {code: sorted(classes) for code, classes in kinds.items() if len(classes) > 1} == {}


def test_all_errors_stand_in_one_tree() -> None:
    """Every class of error is defined in ``errors`` and drawn in its docstring."""
    elsewhere = [
        f"{module.name}.{node.name}"
        for module in MODULES
        if module.name != "driftline.errors"
        for node in ast.walk(module.tree)
        if isinstance(node, ast.ClassDef) and bases(node) & TREE
    ]
    assert elsewhere == []
    drawn = ast.get_docstring(SOURCE) or ""
    assert {name for name in TREE if name not in drawn} == set()
