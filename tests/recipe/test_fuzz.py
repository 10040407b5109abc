"""Whatever is in the file, the reader gives a recipe or a clear error, and nothing else."""

from __future__ import annotations

import os
import random
from functools import cache
from pathlib import Path

import pytest

from driftline.errors import RecipeError
from driftline.recipe import Recipe, decode, parse_recipe, recipe_text
from recipe.test_reading import DESIGN_EXAMPLE
from recipe.test_writing import FOG

CASES = 10_000 if os.environ.get("DRIFTLINE_DEEP") else 2_000
BATCHES = 20

STARTERS = [
    path.read_text(encoding="utf-8")
    for path in sorted((Path(__file__).parents[2] / "recipes").glob("*.toml"))
]
SMALL = [
    "[white]\nduv = 0.01\n",
    "[mono]\n",
    "[chroma.band.a]\nhue = 3\n",
    "curve.slope = 1.1",
]
SEEDS = [DESIGN_EXAMPLE, FOG, *STARTERS, *SMALL, *SMALL]

TOKENS = [
    *(
        "[",
        "]",
        "[[",
        "]]",
        "{",
        "}",
        "=",
        ".",
        ",",
        "#",
        "'",
        '"',
        '"""',
        "'''",
        "\\",
        "\\u0000",
        "\\ud800",
        "\\U0010FFFF",
    ),
    *(
        "nan",
        "-inf",
        "+inf",
        "1e999",
        "-0.0",
        "0x",
        "0xdead_beef",
        "9" * 25,
        "9" * 5000,
        "0b1",
        "0o7",
        "1__0",
        "1e-400",
    ),
    *(
        "0x" + "f" * 6000,
        "1979-05-27T07:32:00Z",
        "07:32:00",
        "1979-13-40",
        "true",
        "false",
        "none",
        "null",
        "",
    ),
    *(
        "\0",
        "\x01",
        "\x1b[31m",
        "\x7f",
        "\r",
        "\r\n",
        "\n",
        "\t",
        "\ufeff",
        "\u2028",
        "\u202e",
        "é",
        "𝄞",
        "\ud800",
    ),
    *(
        "[" * 60,
        "{a=" * 60,
        "[[[[[[1]]]]]]",
        "a." * 120 + "b = 1",
        "x = " + "[" * 3000,
        "x = " + "{x=" * 1500,
    ),
    *(
        "chroma",
        "band",
        "hue",
        "exposure.ev",
        "format = 2",
        "format = 1.0",
        "mono",
        "weights",
        "white.kelvin = 5000",
    ),
    *(
        "[chroma]",
        "[chroma.band]",
        "[chroma.band.x]",
        "[[split]]",
        "curve = 1",
        "name = ''",
        "ev = 1\nev = 2",
        "a" * 70,
    ),
]


KEYS = [
    *(
        "ev",
        "anchor",
        "shift",
        "kelvin",
        "duv",
        "slope",
        "toe",
        "scale",
        "band",
        "hue",
        "width",
        "turn",
        "low",
        "high",
    ),
    *(
        "chroma",
        "pivot",
        "filter",
        "weights",
        "format",
        "name",
        "about",
        "acutance",
        "split.low.hue",
        "evv",
        "'a b'",
    ),
    *(
        "[exposure]",
        "[white]",
        "[chroma]",
        "[chroma.band.b]",
        "[mono]",
        "[split]",
        "[split.low]",
        "[grain]",
        "[halo]",
    ),
]
VALUES = [
    *(
        "0",
        "1",
        "-1",
        "0.5",
        "2.0",
        "9",
        "400",
        "5000",
        "1e3",
        "-0.0",
        "nan",
        "inf",
        "1e999",
        "9" * 25,
        "true",
        "2",
    ),
    *(
        '"red"',
        '"camera"',
        '"dusk"',
        '"Dusk!"',
        '""',
        "'x'",
        "[0.3, 0.6, 0.1]",
        "[1, 1, 1]",
        "[1]",
        "[]",
        "{}",
    ),
    *(
        "{ hue = 3 }",
        "{ hue = 3, chroma = 0.01 }",
        "{ a = { hue = 4 } }",
        "1979-05-27",
        "07:32:00",
        '"\\u0001"',
    ),
]
EITHER_OR = ["shift = 3", "kelvin = 5000", 'filter = "red"', "weights = [1, 0, 0]"]


def mutated(number: int) -> str:
    """The case of this number: a recipe with one to four injuries, the same on every run and machine.

    Odd cases are injured line by line and mostly stay TOML; even ones anywhere, and mostly do not.
    """
    chance = random.Random(number)
    text = chance.choice(SEEDS)
    for _ in range(chance.randint(1, 4)):
        text = _with_an_odd_line(text, chance) if number % 2 else _torn(text, chance)
    return text


def _torn(text: str, chance: random.Random) -> str:
    """Letters cut out, put in, exchanged or doubled, without regard for what they are."""
    at, to = sorted(chance.randint(0, len(text)) for _ in range(2))
    to = min(to, at + chance.choice([1, 3, 12, 60]))
    token = chance.choice(TOKENS)
    return text[:at] + chance.choice(["", token, token + text[at:to], text[at:to] * 2]) + text[to:]


def _with_an_odd_line(text: str, chance: random.Random) -> str:
    """A line put in, doubled elsewhere, lost, or given another key or another value."""
    lines = text.split("\n")
    at, elsewhere = chance.randrange(len(lines)), chance.randint(0, len(lines))
    key, equals, value = lines[at].partition("=")
    injury = chance.randrange(6)
    if injury == 0:
        odd = f"{chance.choice(KEYS)} = {chance.choice(VALUES)}"
        lines.insert(elsewhere, chance.choice([odd, *EITHER_OR]))
    elif injury == 1:
        lines.insert(elsewhere, lines[at])
    elif injury == 2:
        del lines[at]
    elif injury == 3:
        lines[at] = f"{chance.choice(KEYS)} {equals}{value}"
    elif equals:
        lines[at] = f"{key}= {chance.choice(VALUES if injury == 4 else TOKENS)}"
    return "\n".join(lines)


@cache
def verdict(number: int) -> str:
    """What the reader says of the case of this number."""
    return judged(mutated(number))


def judged(text: str) -> str:
    """'recipe', or the code of the error; anything else fails the test."""
    try:
        recipe = parse_recipe(text, source="case.toml")
    except RecipeError as error:
        _check(error)
        return error.code
    assert isinstance(recipe, Recipe)
    assert parse_recipe(recipe_text(recipe), source="again") == recipe
    return "recipe"


def _check(error: RecipeError) -> None:
    report = error.report()
    assert report.startswith("error [recipe-")
    assert report.isprintable() or report.replace("\n  try: ", "").isprintable()
    assert len(report) < 1000
    assert error.message.startswith("case.toml")
    assert error.hint


@pytest.mark.parametrize("batch", range(BATCHES))
def test_a_recipe_or_a_clear_error(batch: int) -> None:
    """Mutated recipes are read or refused, with code, source and hint, on one printable line."""
    for number in range(batch, CASES, BATCHES):
        verdict(number)


def test_the_cases_are_worth_it() -> None:
    """The injuries reach every kind of error, and leave some recipes whole."""
    reached = {verdict(number) for number in range(CASES)}
    assert {
        "recipe",
        "recipe-syntax",
        "recipe-unknown-field",
        "recipe-wrong-type",
        "recipe-out-of-range",
        "recipe-conflict",
        "recipe-missing-field",
        "recipe-format",
    } <= reached


def test_bytes_are_text_or_a_clear_error() -> None:
    """Flipped bytes decode or are refused as no UTF-8."""
    for number in range(CASES // 4):
        chance = random.Random(number)
        content = bytearray(chance.choice(SEEDS).encode("utf-8"))
        for _ in range(chance.randint(1, 4)):
            content[chance.randrange(len(content))] = chance.randrange(256)
        try:
            content.decode("utf-8")
        except UnicodeDecodeError:
            with pytest.raises(RecipeError, match="UTF-8"):
                decode(bytes(content), source="case.toml")
        else:
            judged(decode(bytes(content), source="case.toml"))


@pytest.mark.parametrize(
    "text",
    [
        "x = " + "[" * 32000 + "]" * 32000,
        "x = " + "{a=" * 15000,
        "a." * 32000 + "b = 1",
        "\n".join(f"k{number} = 1" for number in range(6000)),
        "\n".join(f"[t{number}]" for number in range(6000)),
        "\n".join(f"[chroma.band.b{number}]\nhue = 400" for number in range(1500)),
        "[[a]]\n" * 10000,
        '"' + "k" * 65000 + '" = 1',
        "about = '" + "x" * 65000 + "'",
        "x = 0x" + "f" * 65000,
        "x = " + "9" * 65000,
        "a = 1e" + "9" * 65000,
        "exposure.ev = 0." + "1" * 65000,
        "x = [" + "1," * 32000 + "]",
    ],
    ids=lambda text: text[:12].strip(),
)
def test_large_and_deep_texts_are_refused_or_read(text: str) -> None:
    """Texts just below 64 KB that are as hard as they can be; none hangs, overflows or falls through."""
    judged(text)
