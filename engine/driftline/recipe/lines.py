"""On which line of a TOML text something stands, asked of the lossless document."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TypeAlias

import tomlkit
from tomlkit.container import Container
from tomlkit.items import AoT, Array, InlineTable, Item, Key, Table

Location: TypeAlias = tuple[str | int, ...]
"""Keys and indices from the top of a document."""

_MARK = "driftline-stands-here"


def line_of(text: str, place: Location) -> int | None:
    """The line (from 1) on which `place` stands, or else the nearest thing around it that is written out.

    The document is rendered with a mark in that place, and the line ends before the mark are counted. None
    where the lossless parser cannot read the text: it is stricter here and there than the one that judges.

    Examples
    --------
    >>> line_of("[curve]\\nslope = 1\\ntoe = 0", ("curve", "toe"))
    3
    """
    for length in range(len(place), 0, -1):
        try:
            document = tomlkit.parse(text)
            for _ in _marked(document, place[:length]):
                before, mark, _ = document.as_string().partition(_MARK)
                if mark:
                    return before.count("\n") + 1
        except (ValueError, TypeError, LookupError, AttributeError, AssertionError, RecursionError):
            return None
    return None


def header_lines(text: str) -> dict[Location, int]:
    """The line (from 1) of every table header, by the keys of the table.

    Examples
    --------
    >>> header_lines("[curve]\\ntoe = 0\\n\\n[chroma.band.sky]\\nhue = 250")
    {('curve',): 1, ('chroma', 'band', 'sky'): 4}
    """
    document = tomlkit.parse(text)
    places: list[Location] = []
    _mark_headers(document, (), places)
    found = {}
    for number, line in enumerate(document.as_string().split("\n"), start=1):
        if mark := re.search(rf"# {_MARK}(\d+)$", line):
            found[places[int(mark[1])]] = number
    return found


def _mark_headers(container: Container, within: Location, places: list[Location]) -> None:
    for key, item in container.body:
        if key is not None and isinstance(item, Table):
            item.trivia.comment_ws, item.trivia.comment = " ", f"# {_MARK}{len(places)}"
            places.append((*within, key.key))
            _mark_headers(item.value, places[-1], places)


def entries(container: Container, place: Location) -> Iterator[tuple[Container, int, Key, Item]]:
    """Every entry of the document for the keys `place`: the container, its index there, key and item.

    A table written in several parts has several.
    """
    key, *rest = place
    for index, (name, item) in enumerate(container.body):
        if name is None or name.key != key:
            continue
        if not rest:
            yield container, index, name, item
        elif isinstance(item, Table | InlineTable):
            yield from entries(item.value, tuple(rest))


def _marked(document: Container, place: Location) -> Iterator[None]:
    """Put the mark on `place` in one way after another, the likeliest first."""
    *keys, last = place
    if isinstance(last, int):
        for *_, item in entries(document, tuple(keys)):
            if isinstance(item, Array) and last < len(item):
                item[last] = _MARK
                yield
        return
    for container, index, key, item in entries(document, place):
        yield from _mark_item(container, index, key, item)


def _mark_item(container: Container, index: int, key: Key, item: Item) -> Iterator[None]:
    if isinstance(item, AoT):
        item = item.body[0] if item.body else item
    if isinstance(item, Table):
        item.trivia.comment_ws, item.trivia.comment = " ", f"# {_MARK}"
        yield  # seen only if the table has a header of its own
        for inner, (name, part) in enumerate(item.value.body):
            if name is not None:
                yield from _mark_item(item.value, inner, name, part)
                return
    else:
        mark = tomlkit.string(_MARK)
        mark.trivia.indent = item.trivia.indent
        container.body[index] = (key, mark)
        yield
