"""An existing recipe text, changed only where a recipe differs from what it says.

Four kinds of step, each from text to text: values set where they stand, a table cut out, a key cut out,
and what is missing put in beside its kin. The result is read again; should it not say what it shall, the
canonical text stands in for it, with the comments of the old one kept above.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, TypeAlias

import tomlkit
from tomlkit.container import Container
from tomlkit.items import InlineTable, Item, Null, SingleKey, Table, Whitespace

from driftline.errors import RecipeError
from driftline.recipe.fields import WORDS, Value, field_specs, nested, parameters
from driftline.recipe.lines import Location, entries, header_lines
from driftline.recipe.model import Recipe
from driftline.recipe.reading import parse_recipe
from driftline.recipe.writing import INLINE, canonical_text, toml_text, toml_value, written

Contents: TypeAlias = dict[Location, Value]

SECTIONS = tuple(dict.fromkeys(path.partition(".")[0] for path in field_specs()))


def rewritten(recipe: Recipe, base: str) -> str:
    """`base` with the changes that make it say `recipe`."""
    earlier = parse_recipe(base, source="the text to rewrite")
    if earlier == recipe:
        return base
    text = _closed(base.replace("\r\n", "\n"))
    try:
        text = _stepped(text, _contents(earlier), _contents(recipe), _contents(recipe, written(recipe)))
        faithful = parse_recipe(text, source="the rewritten text") == recipe
    except (RecipeError, ValueError, TypeError, LookupError, AttributeError, AssertionError):
        faithful = False
    if not faithful:
        text = _afresh(recipe, text)
    return text.replace("\n", "\r\n") if "\r\n" in base else text


def _contents(recipe: Recipe, values: Mapping[str, Value] | None = None) -> Contents:
    """What a text says or shall say, by place; None where it says nothing."""
    values = parameters(recipe) if values is None else values
    if values.get("white.kelvin") is not None:  # one of the two may stand in a text
        values = {path: value for path, value in values.items() if path != "white.shift"}
    words: Contents = {("name",): recipe.name, ("about",): recipe.about or None}
    return words | {tuple(path.split(".")): value for path, value in values.items()}


def _stepped(text: str, old: Contents, new: Contents, wanted: Contents) -> str:
    differing = [place for place in old | new if old.get(place) != new.get(place)]
    text, missing = _with_values(text, {place: new.get(place) for place in differing})
    for table in _gone(old, new):
        text = _without_table(text, table)
    for place in differing:
        if new.get(place) is None:
            text = _without_key(text, place)
    additions = _additions(text, missing, wanted)
    for section in ("name", "about", *SECTIONS):
        text = _with_additions(text, {at: value for at, value in additions.items() if at[0] == section})
    for table in dict.fromkeys(at[:-1] for at in differing if new.get(at) is None and len(at) == 2):
        text = _without_empty(text, table)
    return text


def _additions(text: str, missing: list[Location], wanted: Contents) -> Contents:
    """What has to be put in; a new band or tint whole, with what is neutral about its place."""
    additions = {place: wanted[place] for place in missing if place in wanted}
    parents = {place[:-1] for place in additions if len(place) > 2}
    document = tomlkit.parse(text)
    return additions | {
        place: value
        for place, value in wanted.items()
        if place[:-1] in parents and not _stands(document, place)
    }


def _with_values(text: str, values: Contents) -> tuple[str, list[Location]]:
    """Set every value that has a place in the text; and the places there are not."""
    document = tomlkit.parse(text)
    missing = []
    for place, value in values.items():
        if value is None:
            continue
        found = list(entries(document, place))
        if not found:
            missing.append(place)
        for container, index, key, item in found:
            container.body[index] = (key, _in_place_of(item, value))
    return document.as_string(), missing


def _in_place_of(item: Item, value: Value) -> Item:
    fresh = _item(value)
    for part in ("indent", "comment_ws", "comment", "trail"):
        setattr(fresh.trivia, part, getattr(item.trivia, part))
    return fresh


def _item(value: Any) -> Item:
    return tomlkit.value(toml_value(value))


def _gone(old: Contents, new: Contents) -> list[Location]:
    """Tables that the new recipe does not have: bands, and mono when it turns to colour."""
    tables = [place[:-1] for place, value in old.items() if place[-1] == "hue" and len(place) == 4]
    gone: list[Location] = [table for table in tables if (*table, "hue") not in new]
    mono = [("mono", "filter"), ("mono", "weights")]
    if any(old[place] is not None for place in mono) and all(new[place] is None for place in mono):
        gone.append(("mono",))
    return gone


def _without_table(text: str, table: Location) -> str:
    """Cut a table out: with its header and the comment right above it, or however else it is written."""
    headers = header_lines(text)
    if table not in headers:
        return _without_key(text, table)
    lines = _lines(text)
    start = headers[table] - 1
    next_header = min((line - 1 for line in headers.values() if line - 1 > start), default=len(lines))
    return "".join(lines[: _above_comment(lines, start)] + lines[_end(lines, start, next_header) :])


def _lines(text: str) -> list[str]:
    """Lines as TOML has them, with their ends: other separators that Unicode knows do not end one."""
    return re.findall(r"[^\n]*\n|[^\n]+", text)


def _end(lines: list[str], start: int, next_header: int) -> int:
    """Where a section ends: notes that stand apart below it, or right above the next, are not its own."""
    end = next_header
    while end > start + 1 and (not lines[end - 1].strip() or lines[end - 1].lstrip().startswith("#")):
        end -= 1
    gap = next((index for index in range(end, next_header) if not lines[index].strip()), end)
    return gap + 1 if gap < next_header and not lines[gap].strip() else end


def _above_comment(lines: list[str], index: int) -> int:
    """The first of the comment lines that stand right above a header."""
    while 0 < index < len(lines) and lines[index - 1].lstrip().startswith("#"):
        index -= 1
    return index


def _without_key(text: str, place: Location) -> str:
    document = tomlkit.parse(text)
    for container, index, _, _ in entries(document, place):
        container.body[index] = (None, Null())
    return document.as_string()


def _without_empty(text: str, table: Location) -> str:
    """Cut a table out that the last step left with nothing in it."""
    for *_, item in entries(tomlkit.parse(text), table):
        if isinstance(item, Table) and any(
            not isinstance(part, Whitespace | Null) for _, part in item.value.body
        ):
            return text
    return _without_table(text, table) if table in header_lines(text) else text


def _stands(document: Container, place: Location) -> bool:
    return next(entries(document, place), None) is not None


def _with_additions(text: str, additions: Contents) -> str:
    """Put values of one section in, each beside the nearest kin the text has."""
    if not additions:
        return text
    document = tomlkit.parse(text)
    by_ancestor: dict[Location, dict[str, Value]] = {}
    for place, value in additions.items():
        lengths = range(len(place) - 1, -1, -1)
        ancestor = next(place[:n] for n in lengths if n == 0 or _stands(document, place[:n]))
        by_ancestor.setdefault(ancestor, {})[".".join(map(str, place))] = value
    for ancestor, values in by_ancestor.items():
        table: Any = nested(values)
        for key in ancestor:
            table = table[key]
        for key, value in table.items():
            text = _with_addition(text, ancestor, key, value)
    return text


def _with_addition(text: str, ancestor: Location, key: str, value: Any) -> str:
    """Put one value or table in: as a section where its kin are sections, else on a line of its own."""
    headers = header_lines(text)
    path = ".".join(map(str, ancestor))
    among_sections = not ancestor or any(header[: len(ancestor)] == ancestor for header in headers)
    is_section = isinstance(value, Mapping) and f"{path}.{key}" not in INLINE
    own_header_missing = bool(ancestor) and ancestor not in headers
    if among_sections and (is_section or own_header_missing):
        return _with_section(text, toml_text({key: value}, inline=INLINE, within=path))
    return _with_line(text, ancestor, key, value)


def _with_section(text: str, section: str) -> str:
    """Put a section in where the order of the format has it."""
    headers = header_lines(text)
    place = min(header_lines(section), key=len)
    later = [line for header, line in headers.items() if _rank(header) > _rank(place)]
    lines = _lines(text)
    index = _above_comment(lines, min(later) - 1) if later else len(lines)
    before, after = "".join(lines[:index]).rstrip("\n"), "".join(lines[index:])
    return (before + "\n\n" if before else "") + section + ("\n" + after if after else "")


def _rank(header: Location) -> tuple[int, bool]:
    known = header[0] in SECTIONS
    return (SECTIONS.index(str(header[0])) if known else len(SECTIONS), len(header) > 1)


def _with_line(text: str, ancestor: Location, key: str, value: Any) -> str:
    document = tomlkit.parse(text)
    container: Container = document
    if ancestor:
        tables = [item for *_, item in entries(document, ancestor) if isinstance(item, Table | InlineTable)]
        table = next((item for item in tables if item.as_string() and not _is_implicit(item)), tables[0])
        if isinstance(table, InlineTable):
            table.append(key, _item(value))
            return document.as_string()
        container = table.value
    item = _item(value)
    item.trivia.trail = "\n"
    container.body.insert(_line_for(container, key), (SingleKey(key), item))
    return document.as_string()


def _is_implicit(table: Table | InlineTable) -> bool:
    return isinstance(table, Table) and table.is_super_table()


def _line_for(container: Container, key: str) -> int:
    """Behind the last value of the table; the words of a recipe stand on top of it."""
    last = -1
    for index, (name, item) in enumerate(container.body):
        if name is None or (isinstance(item, Table) and not name.is_dotted()):
            continue
        if key not in WORDS or name.key in WORDS:
            last = index
    return last + 1


def _afresh(recipe: Recipe, text: str) -> str:
    comments = [line.strip() for line in text.splitlines() if line.lstrip().startswith("#")]
    return "\n".join([*comments, canonical_text(recipe)])


def _closed(text: str) -> str:
    return text if text.endswith("\n") or not text else text + "\n"
