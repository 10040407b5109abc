"""The package as source text: its modules, parsed, without importing any of them."""

from __future__ import annotations

import ast
import subprocess
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ENGINE = ROOT / "engine"
PACKAGE = ENGINE / "driftline"


@dataclass(frozen=True)
class Module:
    """One module of driftline: ``driftline.drift.verdict`` stands in the room ``drift``."""

    name: str
    path: Path

    @property
    def room(self) -> str:
        """The first name below ``driftline``: a room, or a module at the root; '' for the package itself."""
        return self.name.partition(".")[2].partition(".")[0]

    @property
    def tree(self) -> ast.Module:
        """The module, parsed."""
        return ast.parse(self.path.read_text(encoding="utf-8"), filename=str(self.path))

    def imports(self) -> set[str]:
        """Every dotted name the module imports anywhere, also when used for types or inside a function.

        ``from driftline.drift import judge`` counts as ``driftline.drift.judge``: whichever of its parts is
        a module, its room can be read off. ``driftline.render`` after ``import driftline`` counts too.
        """
        return {name for node in ast.walk(self.tree) for name in self._imported(node)}

    def _imported(self, node: ast.AST) -> list[str]:
        if isinstance(node, ast.Import):
            return [alias.name for alias in node.names]
        if isinstance(node, ast.ImportFrom):
            base = ".".join(filter(None, [self._base(node.level), node.module]))
            return [f"{base}.{alias.name}" for alias in node.names]
        if isinstance(node, ast.Attribute) and ast.unparse(node.value) == "driftline":
            return [f"driftline.{node.attr}"]
        if isinstance(node, ast.Call) and called(node) in {"import_module", "__import__"}:
            return [str(arg.value) for arg in node.args[:1] if isinstance(arg, ast.Constant)]
        return []

    def _base(self, level: int) -> str:
        """The package that a relative import of so many dots starts from."""
        if level == 0:
            return ""
        parts = self.name.split(".")
        if self.path.name != "__init__.py":
            parts.pop()
        return ".".join(parts[: len(parts) - (level - 1)])


def called(node: ast.Call) -> str:
    """The last name of what is called: ``import_module`` of ``importlib.import_module(…)``."""
    return ast.unparse(node.func).rpartition(".")[2]


def _modules() -> list[Module]:
    found = []
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(ENGINE).with_suffix("").parts
        found.append(Module(".".join(parts).removesuffix(".__init__"), path))
    return found


def tracked_files() -> list[Path]:
    """Every file git tracks in this checkout (the ones that still exist)."""
    listing = subprocess.run(
        ["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.split("\0")
    return [ROOT / name for name in listing if name and (ROOT / name).is_file()]


MODULES = _modules()
TEST_FILES = sorted((ROOT / "tests").rglob("test_*.py"))
