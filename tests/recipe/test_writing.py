"""Writing: canonical text, and an existing text changed only where it differs."""

from __future__ import annotations

import re
import tomllib
from contextlib import AbstractContextManager
from unittest.mock import patch

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from driftline.recipe import (
    NEUTRAL,
    Exposure,
    Mono,
    Recipe,
    from_parameters,
    parameters,
    parse_recipe,
    recipe_text,
    rewriting,
)
from driftline.recipe.writing import toml_text, toml_value
from recipe.strategies import recipes

FOG = """# what the fog needs
format = 1
name = "tram-fog"      # of the first winter

[exposure]
ev = 0.350             # on top of plain

# colder than as shot
[white]
kelvin = 5_200         # K

[curve]
slope = 1.10           # firm

# the wall by the depot
[chroma.band.brick]
hue = 40.0
turn = -4.00

[split]
low  = { hue = 250.0, chroma = 0.018 }  # cold

# only for rain
[mono]
filter = "yellow"

# at night
[noise]
chroma = 0.2
"""


def changed(text: str, **values: object) -> str:
    """`text` rewritten with parameters set, their paths spelt with two underscores for a dot."""
    recipe = parse_recipe(text, source="base")
    new = parameters(recipe) | {path.replace("__", "."): value for path, value in values.items()}
    after = from_parameters(new, name=recipe.name, about=recipe.about)  # type: ignore[arg-type]
    written = recipe_text(after, base=text)
    assert parse_recipe(written, source="rewritten") == after
    return written


def no_fallback() -> AbstractContextManager[object]:
    """Within it, a rewrite that would have to start afresh fails."""
    return patch.object(rewriting, "_afresh", side_effect=AssertionError("started afresh"))


def lines_that_differ(before: str, after: str) -> tuple[list[str], list[str]]:
    """Lines that only one of two texts has."""
    old, new = before.splitlines(), after.splitlines()
    return [line for line in old if line not in new], [line for line in new if line not in old]


def test_canonical_text_holds_what_is_not_neutral() -> None:
    """In the order of the format, a section each, tints on one line; of a neutral recipe only its format."""
    assert recipe_text(NEUTRAL) == "format = 1\n"
    assert recipe_text(parse_recipe(FOG, source="fog")) == (
        'format = 1\nname = "tram-fog"\n\n[exposure]\nev = 0.35\n\n[white]\nkelvin = 5200.0\n\n'
        "[curve]\nslope = 1.1\n\n[chroma.band.brick]\nhue = 40.0\nwidth = 40.0\nturn = -4.0\n\n"
        "[split]\nlow = { hue = 250.0, chroma = 0.018 }\n\n"
        '[mono]\nfilter = "yellow"\n\n[noise]\nchroma = 0.2\n'
    )


@given(
    text=st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]) | st.sampled_from("\n\t\"'\\"))
)
def test_any_text_is_written_so_that_it_reads_the_same(text: str) -> None:
    """Quotes, backslashes and line breaks survive (the standard library's parser is the judge)."""
    assert tomllib.loads(f"about = {toml_value(text)}")["about"] == text


@given(value=st.floats(allow_nan=False, allow_infinity=False) | st.integers(-(2**63), 2**63 - 1))
def test_any_number_is_written_so_that_it_reads_the_same(value: float) -> None:
    """Every float and integer keeps its value and kind (the standard library's parser is the judge)."""
    read = tomllib.loads(f"x = {toml_value(value)}")["x"]
    assert read == value
    assert type(read) is type(value)


def test_nested_tables_are_written_with_their_headers() -> None:
    """A table that only holds tables needs no header of its own; an empty one does."""
    assert toml_text({"a": {"b": {"x": 1}}, "c": {}}) == "[a.b]\nx = 1\n\n[c]\n"


def test_unchanged_is_untouched() -> None:
    """A text that already says the recipe comes back letter for letter, line ends included."""
    for text in (FOG, FOG.replace("\n", "\r\n"), FOG.rstrip("\n"), ""):
        assert recipe_text(parse_recipe(text, source="same"), base=text) == text


def test_one_number_changes_one_line() -> None:
    """The comment beside it stays, and so does every other letter of the file."""
    gone, come = lines_that_differ(FOG, changed(FOG, curve__slope=1.2))
    assert gone == ["slope = 1.10           # firm"]
    assert come == ["slope = 1.2           # firm"]


def test_a_neutral_value_keeps_its_line_and_comment() -> None:
    """Set to 0, exposure is written as such: its comment is worth more than the line."""
    assert "ev = 0.0             # on top of plain" in changed(FOG, exposure__ev=0.0)


def test_a_value_within_braces_changes_in_place() -> None:
    """An inline table keeps its place, its comment and its other values."""
    assert "hue = 255.0, chroma = 0.018 }  # cold" in changed(FOG, split__low__hue=255.0)


def test_a_new_value_stands_with_its_kin() -> None:
    """A value that had no line goes into its section, below what is there."""
    assert "slope = 1.10           # firm\ntoe = -0.2\n" in changed(FOG, curve__toe=-0.2)
    assert "turn = -4.00\nwidth = 60.0\n" in changed(FOG, chroma__band__brick__width=60.0)


def test_a_new_section_stands_where_the_format_has_it() -> None:
    """Not at the end of the file, and not between a section and the comment above it."""
    written = changed(FOG, chroma__scale=0.9)
    assert "# firm\n\n[chroma]\nscale = 0.9\n\n# the wall by the depot\n[chroma.band.brick]" in written
    assert changed(FOG, grain__rms_granularity=9.0).endswith(
        "chroma = 0.2\n\n[grain]\nrms_granularity = 9.0\n"
    )


def test_colour_again_takes_mono_out_with_its_comment() -> None:
    """A removed section goes with its header and the comment above it; the next keeps its own."""
    written = changed(FOG, mono__filter=None)
    assert "mono" not in written
    assert "only for rain" not in written
    assert written.endswith("# cold\n\n# at night\n[noise]\nchroma = 0.2\n")


def test_notes_below_a_removed_section_stay() -> None:
    """A note that stands apart below the section is not its own; one right below its values is."""
    base = (
        '[mono]\nfilter = "red"\n# or "orange"\n\n# remember the bell\n\n# at night\n[noise]\nchroma = 0.2\n'
    )
    assert changed(base, mono__filter=None) == "# remember the bell\n\n# at night\n[noise]\nchroma = 0.2\n"
    last = '[noise]\nchroma = 0.2\n\n[mono]\nfilter = "red"\n\n# the end\n'
    assert changed(last, mono__filter=None) == "[noise]\nchroma = 0.2\n\n# the end\n"


def test_other_line_separators_do_not_count() -> None:
    """Unicode's own separators within a comment neither move a line nor split it."""
    base = '# one\u2028still one\u0085\n[mono]\nfilter = "red"  # a\u2029b\n[noise]\nchroma = 0.2\n'
    assert changed(base, mono__filter=None) == "[noise]\nchroma = 0.2\n"
    kept = base.replace("[mono]", "\n[mono]")
    assert changed(kept, mono__filter=None) == "# one\u2028still one\u0085\n\n[noise]\nchroma = 0.2\n"


def test_a_band_taken_out_goes_whole() -> None:
    """Nothing of a removed band is left, and nothing around it goes."""
    written = changed(FOG, chroma__band__brick__hue=None)
    gone, come = lines_that_differ(FOG, written)
    assert gone == ["# the wall by the depot", "[chroma.band.brick]", "hue = 40.0", "turn = -4.00"]
    assert come == []


def test_a_white_said_the_other_way() -> None:
    """Kelvin gives way to shift within its section."""
    written = changed(FOG, white__kelvin=None, white__shift=-6.0)
    assert "# colder than as shot\n[white]\nshift = -6.0\n" in written
    assert "kelvin" not in written
    assert "[white]" not in changed(FOG, white__kelvin=None)


def test_words_change_like_values() -> None:
    """Name and about are set in place, put in on top, and taken out."""
    recipe = parse_recipe(FOG, source="fog")
    renamed = recipe_text(Recipe(**{**dict(recipe), "name": "depot-fog", "about": "for fog"}), base=FOG)
    assert 'name = "depot-fog"      # of the first winter\nabout = "for fog"\n\n[exposure]' in renamed
    nameless = recipe_text(Recipe(**{**dict(recipe), "name": None}), base=FOG)
    assert "name" not in nameless
    named = recipe_text(Recipe(name="late"), base="# night\n\n[curve]\nslope = 1.0\n")
    assert named == 'name = "late"\n# night\n\n[curve]\nslope = 1.0\n'


def test_line_ends_stay_those_of_the_file() -> None:
    """A file with CRLF keeps CRLF, in its new lines too."""
    written = changed(FOG.replace("\n", "\r\n"), curve__toe=-0.2, grain__rms_granularity=9.0)
    assert not re.search(r"(?<!\r)\n", written)


@pytest.mark.parametrize(
    "base",
    [
        "exposure.ev = 1 # a\nsplit.low = { hue = 1, chroma = 0.1 }\nmono = { filter = 'red' }\n",
        "chroma = { scale = 1.1, band = { a = { hue = 1 }, b = { hue = 2, turn = 3 } } }\nwhite.shift = 3",
        "[split]\nlow.hue = 3 # c\nlow.chroma = 0.01\n[chroma]\nband.a.hue = 1\n[white]\nkelvin = 4000",
        "[chroma.band]\na = { hue = 1 }\nb.hue = 3\n\n[mono]\nweights = [0.2, # red\n 0.3, 0.5]\n",
        "[chroma.band.a]\nhue = 3\n[exposure]\nev = 1\n[chroma.band.b]\nhue = 4\n[chroma]\nscale = 1.2\n",
        "[split.low]\nhue = 3\n  [split.high] # indented\n  hue = 4\n",
        "# only a comment",
        '"exposure" = { "ev" = 1.0 }\n[ curve ] # spaced\n "slope" = 1.2\n',
    ],
)
@settings(max_examples=settings().max_examples // 4)
@given(recipe=recipes())
def test_every_way_of_writing_is_rewritten_faithfully(base: str, recipe: Recipe) -> None:
    """Dotted, inline, split-up and quoted: whatever changes, the text reads back as the recipe."""
    with no_fallback():
        assert parse_recipe(recipe_text(recipe, base=base), source="rewritten") == recipe


@settings(max_examples=settings().max_examples // 2)
@given(old=recipes(), new=recipes())
def test_any_recipe_becomes_any_other(old: Recipe, new: Recipe) -> None:
    """Rewriting the text of one recipe to say another gives that other, and its comments are kept."""
    lines = recipe_text(old).split("\n\n")
    base = "\n\n".join(f"# note {number}\n\n{part}" for number, part in enumerate(lines))
    with no_fallback():
        written = recipe_text(new, base=base)
    assert parse_recipe(written, source="rewritten") == new
    if '"""' not in base:
        assert all(f"# note {number}" in written for number in range(len(lines)))


def test_if_all_else_fails_the_comments_are_kept(monkeypatch: pytest.MonkeyPatch) -> None:
    """Should a rewritten text not say the recipe, canonical text does, below the comments of the old one."""
    monkeypatch.setattr(rewriting, "_stepped", lambda text, *_: text)
    written = recipe_text(
        Recipe(exposure=Exposure(ev=1), mono=Mono()), base="# keep me\n[curve]\nslope = 1.1\n"
    )
    assert written == '# keep me\nformat = 1\n\n[exposure]\nev = 1.0\n\n[mono]\nfilter = "none"\n'
