"""The file that is edited: a recipe's working file in the ledger, or a recipe file that lies elsewhere."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Protocol

from driftline.errors import RecipeError
from driftline.ledger import Ledger, suggested_name
from driftline.prints import write_file
from driftline.recipe import parse_recipe, read_text


class Draft(Protocol):
    """A file under edit, and the note beside it of what can be undone.

    Attributes
    ----------
    name
        What the page calls it: the recipe's name, or the name of a file that lies outside the ledger.
    where
        Where it lies, for messages.
    """

    name: str
    where: str

    def text(self) -> str:
        """What it says; raises what says why there is none."""

    def content(self) -> bytes | None:
        """What it holds, None if there is no file."""

    def write(self, content: bytes, *, seen: bytes | None) -> None:
        """Replace it, whole, if it still holds what was seen last."""

    def note(self) -> bytes | None:
        """What was noted of it last."""

    def keep_note(self, note: bytes) -> None:
        """Note something of it; it can be done without."""


class WorkingFile:
    """A recipe's working file in the ledger."""

    def __init__(self, ledger: Ledger, name: str) -> None:
        self.name = name
        self.where = f"recipes/{name}.toml"
        self._ledger = ledger

    def text(self) -> str:
        """What it says."""
        return self._ledger.working_text(self.name)

    def content(self) -> bytes | None:
        """What it holds."""
        return self._ledger.working_bytes(self.name)

    def write(self, content: bytes, *, seen: bytes | None) -> None:
        """Replace it."""
        self._ledger.write_working(self.name, content, seen=seen)

    def note(self) -> bytes | None:
        """What was noted of it."""
        return self._ledger.own_note(f"drafts/{self.name}")

    def keep_note(self, note: bytes) -> None:
        """Note something of it."""
        self._ledger.keep_own_note(f"drafts/{self.name}", note)


class OutsideFile:
    """A recipe file that lies outside the ledger: edited where it lies, until a save takes it in.

    Parameters
    ----------
    ledger
        Keeps the note of what can be undone.
    path
        The file; of a link, what it leads to.
    """

    def __init__(self, ledger: Ledger, path: Path) -> None:
        self.path = path.resolve()
        self.name = path.name
        self.where = str(self.path)
        self._ledger = ledger
        digest = hashlib.sha256(self.where.encode("utf-8", "surrogateescape")).hexdigest()
        self._key = f"drafts/outside/{digest[:32]}"

    def suggested(self) -> str:
        """What it would be called in the ledger: by its own name, or that of the file."""
        try:
            named = parse_recipe(self.text(), source=self.where).name
        except RecipeError:
            named = None
        return suggested_name(named or self.path.stem)

    def text(self) -> str:
        """What it says."""
        return read_text(self.path)

    def content(self) -> bytes | None:
        """What it holds."""
        return self.text().encode() if self.path.exists() else None

    def write(self, content: bytes, *, seen: bytes | None) -> None:
        """Replace it.

        Raises
        ------
        RecipeError
            ``recipe-file-changed`` when it holds something else by now.
        PrintError
            ``cannot-write``, ``disk-full``.
        """
        if self.content() != seen:
            raise RecipeError(
                "recipe-file-changed",
                f"{self.where}: changed by another program meanwhile; it was left alone",
                hint="look at what it holds now, then decide",
            )
        write_file(self.path, content, replace=True)

    def note(self) -> bytes | None:
        """What was noted of it."""
        return self._ledger.own_note(self._key)

    def keep_note(self, note: bytes) -> None:
        """Note something of it."""
        self._ledger.keep_own_note(self._key, note)


def is_file(recipe: str) -> bool:
    """Whether a recipe argument means a file rather than a name or a version."""
    return recipe.endswith(".toml") or "/" in recipe


def draft_of(ledger: Ledger, recipe: str) -> Draft:
    """What a recipe argument means: a recipe of the ledger, by name or by file, or a file elsewhere."""
    if not is_file(recipe):
        return WorkingFile(ledger, recipe)
    path = Path(recipe).expanduser()
    real = path.resolve()
    if real.suffix == ".toml" and real.parent == ledger.path.resolve() / "recipes":
        return WorkingFile(ledger, real.stem)
    return OutsideFile(ledger, path)
