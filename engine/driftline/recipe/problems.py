"""From what the models refuse to an error a photographer can act on: file, line, field, given, allowed."""

from __future__ import annotations

import difflib
import json
import re
from collections.abc import Mapping
from typing import Any, NamedTuple, TypeAlias

from pydantic import BaseModel, ValidationError

from driftline.errors import RecipeError
from driftline.recipe.sections import NAME_PATTERN

Location: TypeAlias = tuple[str | int, ...]

LONGEST_SHOWN = 60
LOOKED_UP_BYTES = 50_000
"""How much text is gone through to find the line of every problem; in a large file, of the first alone."""

BARE_KEY = re.compile(r"^[A-Za-z0-9_-]{1,60}$")
NAME_RULE = "lower-case letters, digits and hyphens"
WRONG_TYPE = {
    "float_type": "a number is expected",
    "int_type": "a whole number is expected",
    "string_type": "text is expected",
    "model_type": "a table is expected",
    "model_attributes_type": "a table is expected",
    "dict_type": "a table is expected",
    "named_tuple_type": "a table or numbers in brackets are expected",
    "tuple_type": "numbers in brackets are expected",
}


class Problem(NamedTuple):
    """One thing that is wrong: the end of its code, where, what was given, what is allowed, what to try."""

    code: str
    place: Location
    given: str
    allowed: str
    hint: str


def first_problem(
    error: ValidationError,
    model: type[BaseModel],
    document: Mapping[str, Any],
    text: str,
    *,
    source: str,
    kind: str,
) -> RecipeError:
    """The problem that stands first in the file, as an error; the others are counted in its hint."""
    schema = model.model_json_schema()
    entries = error.errors(include_url=False)
    looked_up = max(1, LOOKED_UP_BYTES // max(1, len(text)))
    problems = [_problem(entry, schema, document) for entry in entries[:looked_up]]
    lines = [_line(text, problem.place) for problem in problems]
    first = min(range(len(problems)), key=lambda index: (lines[index] or 0, index))
    problem = problems[first]
    more = len({entry["loc"] for entry in entries}) - 1
    return RecipeError(
        f"{kind}-{problem.code}",
        f"{_where(source, lines[first])}, {dotted(problem.place)}: {problem.given}; {problem.allowed}",
        hint=problem.hint + (f" ({more} more to mend in this file)" if more else ""),
    )


def at_line(text: str, source: str, place: Location) -> str:
    """``dusk.toml, line 9``: the source and the line on which `place` stands in its text."""
    return _where(source, _line(text, place))


def _where(source: str, line: int | None) -> str:
    return f"{source}, line {line}" if line else source


def _line(text: str, place: Location) -> int | None:
    from driftline.recipe.lines import line_of  # noqa: PLC0415  the lossless parser is loaded when needed

    return line_of(text, place)


def dotted(place: Location) -> str:
    """A place in a document as a field path; an index in brackets, a key that is no bare word in quotes.

    Examples
    --------
    >>> dotted(("mono", "weights", 1))
    'mono.weights[1]'
    """
    path = ""
    for part in place:
        if isinstance(part, int):
            path += f"[{part}]"
        else:
            path += ("." if path else "") + (part if BARE_KEY.match(part) else shown(part))
    return path


def shown(value: Any) -> str:
    """A value as a person would write it in TOML, on one line and cut to a readable length.

    Examples
    --------
    >>> shown(True), shown("so\\nft"), shown({"a": 1})
    ('true', '"so\\\\nft"', 'a table')
    """
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(shown(item) for item in value[:4]) + (", …]" if len(value) > 4 else "]")
    if isinstance(value, int) and value.bit_length() > 256:
        return f"a whole number of {value.bit_length()} bits"
    if isinstance(value, bool | int | float | str):
        text = json.dumps(value, ensure_ascii=False).replace("NaN", "nan").replace("Infinity", "inf")
    else:
        text = str(value)  # dates and times
    text = printable(text)
    return text if len(text) <= LONGEST_SHOWN else text[:LONGEST_SHOWN] + "…"


def printable(text: str) -> str:
    """The text with everything that is not to be printed, such as a change of direction, spelt out.

    Examples
    --------
    >>> printable("dusk\\u202e")
    'dusk\\\\u202e'
    """
    return "".join(letter if letter.isprintable() else f"\\u{ord(letter):04x}" for letter in text)


def _problem(entry: Any, schema: dict[str, Any], document: Mapping[str, Any]) -> Problem:
    kind, context = entry["type"], entry.get("ctx", {})
    place: Location = entry["loc"]
    if place and place[-1] == "[key]":
        return Problem("out-of-range", place[:-1], "not a name", NAME_RULE, "a name such as brick-2")
    if kind == "extra_forbidden":
        return _unknown(place, schema)
    if kind == "missing" and isinstance(place[-1], str):
        wanted = f"a line {place[-1]} = …, {_limits(_inside(schema, place))}"
        return Problem("missing-field", place, "missing", "it has no default", wanted)
    if kind in {"missing", "too_long"}:
        place = place[:-1] if kind == "missing" else place
        return _misvalued("tuple_type", place, _at(document, place), _inside(schema, place))
    if kind == "conflict":
        return Problem(
            "conflict", (*place, context["field"]), entry["msg"], context["allowed"], context["hint"]
        )
    if kind == "refused":
        place = (*place, context["field"])
        given = context.get("given") or shown(_at(document, place))
        return Problem("out-of-range", place, given, entry["msg"], context["hint"])
    return _misvalued(kind, place, entry["input"], _inside(schema, place), entry["msg"])


def _misvalued(kind: str, place: Location, given: Any, field: dict[str, Any], said: str = "") -> Problem:
    limits = _limits(field)
    if kind in WRONG_TYPE and not (kind == "float_type" and type(given) is int):
        expected = WRONG_TYPE[kind]
        if kind == "tuple_type":
            expected = f"{_members(field)} in brackets are expected"
        return Problem(
            "wrong-type", place, shown(given), expected, limits or expected.split(" are ")[0].split(" is ")[0]
        )
    if kind == "literal_error" and not isinstance(given, str):
        return Problem("wrong-type", place, shown(given), "text is expected", limits)
    allowed = f"allowed {limits}" if limits else said.replace("Input should be ", "allowed ")
    hint = (
        f"a value between {limits.replace(' to ', ' and ')}"
        if "minimum" in field
        else limits or "another value"
    )
    if kind == "literal_error":
        nearest = difflib.get_close_matches(str(given), _choices(field), 1)
        hint = shown(nearest[0]) if nearest else limits
    return Problem("out-of-range", place, shown(given), allowed, hint)


def _unknown(place: Location, schema: dict[str, Any]) -> Problem:
    name, inside = str(place[-1]), _inside(schema, place[:-1])
    known = list(inside.get("properties", {})) or [item["title"].lower() for item in inside["prefixItems"]]
    elsewhere = [path for path in _paths(schema) if path.rpartition(".")[2] == name]
    nearest = difflib.get_close_matches(name, known, 1, cutoff=0.5)
    if elsewhere and not nearest:
        hint = elsewhere[0]
    elif nearest:
        hint = dotted((*place[:-1], nearest[0]))
    else:
        hint = "one of the known names, or delete the line"
    return Problem("unknown-field", place, "unknown field", "known here: " + ", ".join(known), hint)


def _paths(schema: dict[str, Any], place: Location = ()) -> list[str]:
    inside = _inside(schema, place)
    paths = [dotted(place)] if place else []
    for name in inside.get("properties", {}):
        paths += _paths(schema, (*place, name))
    return paths


def _inside(schema: dict[str, Any], place: Location) -> dict[str, Any]:
    """What the JSON Schema says of a place; empty where it says nothing."""
    here = _resolved(schema, schema)
    for part in place:
        if isinstance(part, int):
            items = here.get("prefixItems", [])
            inner = items[part] if part < len(items) else here.get("items")
        elif "prefixItems" in here:
            inner = next((item for item in here["prefixItems"] if item["title"].lower() == part), {})
        else:
            named = next(iter(here.get("patternProperties", {}).values()), None)
            inner = here.get("properties", {}).get(part) or named or here.get("additionalProperties")
        here = _resolved(inner if isinstance(inner, dict) else {}, schema)
    return here


def _resolved(part: dict[str, Any], schema: dict[str, Any]) -> dict[str, Any]:
    for option in part.get("anyOf", []):
        if option.get("type") != "null":
            part = {**part, **option}
    if "$ref" in part:
        return _resolved(schema["$defs"][part["$ref"].rpartition("/")[2]], schema)
    return part


def _limits(field: dict[str, Any]) -> str:
    if "minimum" in field and "maximum" in field:
        return f"{field['minimum']:g} to {field['maximum']:g}"
    if _choices(field):
        return ", ".join(shown(choice) for choice in _choices(field))
    if "maxLength" in field:
        rule = NAME_RULE if field.get("pattern") == NAME_PATTERN else "text without control characters"
        return f"{rule}, at most {field['maxLength']}"
    return ""


def _choices(field: dict[str, Any]) -> list[Any]:
    return list(field.get("enum", [field["const"]] if "const" in field else []))


def _members(field: dict[str, Any]) -> str:
    """What belongs into a list: how many numbers, or which words."""
    words = _limits(field.get("items", {}))
    if words:
        return f"some of {words}"
    return {2: "two", 3: "three", 4: "four"}.get(len(field.get("prefixItems", [])), "some") + " numbers"


def _at(document: Any, place: Location) -> Any:
    for part in place:
        document = document[part]
    return document
