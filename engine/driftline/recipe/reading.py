"""Reading a recipe: text in, a Recipe or a RecipeError out, and never anything else.

The standard library's parser decides what the text says; the lossless document is only asked, once
something is wrong, for the line it stands on.
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

from driftline.errors import RecipeError
from driftline.recipe.model import Recipe
from driftline.recipe.problems import at_line, first_problem, printable, shown

LARGEST_BYTES = 64 * 1024
DEEPEST = 100

SYNTAX_HINTS = {
    "Invalid value": 'numbers with a digit before the point (0.9, not .9), text in quotes ("yellow")',
    "Cannot overwrite a value": "one line for each field",
}

M = TypeVar("M", bound=BaseModel)


def read_recipe(path: str | Path) -> Recipe:
    """The recipe in the file at `path`; without a ``name`` of its own it takes the file's stem.

    Raises
    ------
    RecipeError
        There is no such file, or it is not a recipe; the message names file, line and field.
    """
    path = Path(path)
    recipe = parse_recipe(read_text(path), source=str(path))
    if recipe.name is None:
        try:
            return Recipe.model_validate({**dict(recipe), "name": path.stem})
        except ValidationError:  # a stem that is no recipe name: the recipe stays nameless
            return recipe
    return recipe


def parse_recipe(text: str, *, source: str) -> Recipe:
    """The recipe that `text` says; `source` names it in errors.

    Raises
    ------
    RecipeError
        The text is no recipe; the message names source, line, field, what was given and what is allowed.

    Examples
    --------
    >>> parse_recipe("exposure.ev = 0.5", source="example").exposure.ev
    0.5
    """
    return parse_as(Recipe, text, source=source, kind="recipe")


def parse_as(model: type[M], text: str, *, source: str, kind: str) -> M:
    """Any frozen model from TOML, with the errors of a recipe under codes of its own kind.

    `kind` starts the code of every error: ``recipe`` gives ``recipe-out-of-range``.
    """
    document = _document(text, source=source, kind=kind)
    if type(document.get("format")) is int and document["format"] != 1:
        where = f"{at_line(text, source, ('format',))}, format: {shown(document['format'])}"
        raise RecipeError(
            f"{kind}-format",
            f"{where}; this version reads format 1",
            hint="a newer driftline, or format = 1 if that is what the file holds",
        )
    try:
        return model.model_validate(document)
    except ValidationError as error:
        raise first_problem(error, model, document, text, source=source, kind=kind) from None


def read_text(path: Path, *, kind: str = "recipe") -> str:
    """The text of a small UTF-8 file, line ends untouched.

    Raises
    ------
    RecipeError
        ``-missing``, ``-unreadable``, ``-too-large`` or ``-encoding``.
    """
    try:
        if path.exists() and not path.is_file():
            raise RecipeError(f"{kind}-unreadable", f"{path}: not a file", hint=f"the path of a {kind} file")
        with path.open("rb") as file:
            content = file.read(LARGEST_BYTES + 1)
    except FileNotFoundError:
        raise RecipeError(f"{kind}-missing", f"{path}: no such file", hint="check the path") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise RecipeError(
            f"{kind}-unreadable", f"{path}: {reason}", hint="check the path and its rights"
        ) from None
    return decode(content, source=str(path), kind=kind)


def decode(content: bytes, *, source: str, kind: str = "recipe") -> str:
    """Text from bytes that must be UTF-8 without a byte-order mark, at most 64 KB."""
    if len(content) > LARGEST_BYTES:
        raise _too_large(source, kind)
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise RecipeError(
            f"{kind}-encoding",
            f"{source}, line {line}: byte 0x{content[error.start]:02x} is not UTF-8",
            hint="save the file as UTF-8",
        ) from None


def _document(text: str, *, source: str, kind: str) -> dict[str, Any]:
    try:
        size = len(text.encode("utf-8"))
    except UnicodeEncodeError as error:
        line = text.count("\n", 0, error.start) + 1
        raise RecipeError(
            f"{kind}-encoding",
            f"{source}, line {line}: half of a surrogate pair, which is no character",
            hint="delete it",
        ) from None
    if size > LARGEST_BYTES:
        raise _too_large(source, kind)
    if text.startswith("\ufeff"):
        raise RecipeError(
            f"{kind}-encoding",
            f"{source}, line 1: starts with a byte-order mark",
            hint="save the file as UTF-8 without a byte-order mark",
        )
    if any(_deepest_key(line) > DEEPEST for line in text.splitlines()):
        raise _too_deep(source, kind)
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise _too_deep(source, kind) from None
    except ValueError as error:  # TOMLDecodeError, and numbers with too many digits
        raise _not_toml(str(error), text, source=source, kind=kind) from None


def _not_toml(reason: str, text: str, *, source: str, kind: str) -> RecipeError:
    found = re.search(r"^(.*) \(at line (\d+), column (\d+)\)$", reason, re.DOTALL)
    place = f"{source}, line {found[2]}" if found else source
    if reason.endswith("(at end of document)"):
        place = f"{source}, line {text.count(chr(10)) + 1}"
        reason = reason.removesuffix(" (at end of document)")
    what = found[1] if found else reason
    if "int_max_str_digits" in what:
        what = "a number with thousands of digits"
    return RecipeError(
        f"{kind}-syntax",
        f"{place}: {printable(what)[:200]}; TOML is expected",
        hint=SYNTAX_HINTS.get(what, "lines such as [exposure] and ev = 0.35"),
    )


def _deepest_key(line: str) -> int:
    """The longest run of words joined by dots; the parser's time grows with its square."""
    deepest = run = 1
    for part in line.split(".")[1:]:
        word = part.strip()
        run = run + 1 if word and not set(" \t=,") & set(word) else 1
        deepest = max(deepest, run)
    return deepest


def _too_deep(source: str, kind: str) -> RecipeError:
    return RecipeError(f"{kind}-syntax", f"{source}: nested too deeply", hint="tables and plain values")


def _too_large(source: str, kind: str) -> RecipeError:
    return RecipeError(
        f"{kind}-too-large", f"{source}: more than 64 KB; a {kind} is a small text", hint=f"a {kind} file"
    )
