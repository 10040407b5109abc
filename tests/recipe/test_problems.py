"""What is said of a wrong recipe: code, file, line, field, what was given, what is allowed, what to try."""

from __future__ import annotations

import pytest

from driftline.errors import RecipeError
from driftline.recipe import parse_correction, parse_recipe


def report(text: str) -> str:
    """The error that `text` gives as it is printed."""
    with pytest.raises(RecipeError) as caught:
        parse_recipe(text, source="recipes/dusk.toml")
    return caught.value.report()


def test_the_form_of_an_error() -> None:
    """Code, file, line, field, given, allowed; then what to try."""
    text = 'format = 1\nname = "dusk"\n\n# bright\n[curve]\nslope = 1.1\n\n[exposure]\nev = 9.0  # too much\n'
    assert report(text) == (
        "error [recipe-out-of-range] recipes/dusk.toml, line 9, exposure.ev: 9.0; allowed -6 to 6\n"
        "  try: a value between -6 and 6"
    )


CASES = [
    # value out of range, however the table is written
    ("exposure.ev = -7", "out-of-range", 1, "exposure.ev: -7; allowed -6 to 6"),
    ("exposure = { ev = 9 }", "out-of-range", 1, "exposure.ev: 9; allowed -6 to 6"),
    (
        "[curve]\ntoe = 0\n[split]\nlow.chroma = 0.5",
        "out-of-range",
        4,
        "split.low.chroma: 0.5; allowed 0 to 0.1",
    ),
    ("[split]\nhigh = { hue = 1, chroma = 2 }", "out-of-range", 2, "split.high.chroma: 2; allowed 0 to 0.1"),
    ("[chroma.band.a]\nhue = 1\n[chroma.band.b]\nhue = 400", "out-of-range", 4, "chroma.band.b.hue: 400;"),
    (
        "[mono]\nweights = [\n  0.3,\n  5,\n  0.1,\n]",
        "out-of-range",
        4,
        "mono.weights[1]: 5; allowed -1 to 2",
    ),
    (
        "[mono]\nweights = [0.3, 0.3, 0.3]",
        "out-of-range",
        2,
        "mono.weights: [0.3, 0.3, 0.3]; the three sum to 0.9",
    ),
    ("[curve]\nslope = nan", "out-of-range", 2, "curve.slope: nan; allowed 0.5 to 2"),
    ("[curve]\nslope = -inf", "out-of-range", 2, "curve.slope: -inf; allowed"),
    ("[curve]\nslope = 0x" + "f" * 9000, "out-of-range", 2, "curve.slope: a whole number of 36000 bits;"),
    ('[mono]\nfilter = "yelow"', "out-of-range", 2, 'mono.filter: "yelow"; allowed "none", "yellow"'),
    ('[exposure]\nanchor = "sun"', "out-of-range", 2, 'exposure.anchor: "sun"; allowed "camera", "metered"'),
    ('name = "Tram Fog"', "out-of-range", 1, 'name: "Tram Fog"; allowed lower-case letters'),
    (f'name = "{"a" * 65}"', "out-of-range", 1, "at most 64"),
    ("[chroma.band.Brick]\nhue = 40", "out-of-range", 1, "chroma.band.Brick: not a name"),
    # the same key name in several tables, and after text that looks like a key
    ("[noise]\nchroma = 1\n[split.low]\nchroma = 1", "out-of-range", 4, "split.low.chroma: 1;"),
    ('about = """\n[curve]\nslope = 9\n"""\n[curve]\nslope = 9', "out-of-range", 6, "curve.slope: 9;"),
    ("[exposure]\nev=0\r\n[curve]\r\nslope = 9", "out-of-range", 4, "curve.slope: 9;"),
    # wrong type
    ("[curve]\nslope = true", "wrong-type", 2, "curve.slope: true; a number is expected"),
    ('[curve]\nslope = "1.1"', "wrong-type", 2, 'curve.slope: "1.1"; a number is expected'),
    ("[curve]\nslope = 2026-01-01", "wrong-type", 2, "curve.slope: 2026-01-01; a number is expected"),
    ("curve = 1.1", "wrong-type", 1, "curve: 1.1; a table is expected"),
    ("\n[[curve]]\nslope = 1.1", "wrong-type", 2, "curve: [a table]; a table is expected"),
    ("[mono]\nweights = [0.5, 0.5]", "wrong-type", 2, "mono.weights: [0.5, 0.5]; three numbers in brackets"),
    ("[mono]\nfilter = 8", "wrong-type", 2, "mono.filter: 8; text is expected"),
    ("name = 7", "wrong-type", 1, "name: 7; text is expected"),
    ('format = "1"', "wrong-type", 1, 'format: "1"; a whole number is expected'),
    ("format = true", "wrong-type", 1, "format: true; a whole number is expected"),
    ("[chroma]\nband = [1]", "wrong-type", 2, "chroma.band: [1]; a table is expected"),
    # unknown, missing, contradictory
    ("[exposure]\nevv = 1", "unknown-field", 2, "exposure.evv: unknown field; known here: ev, anchor"),
    ("[exposur]\nev = 1", "unknown-field", 1, "exposur: unknown field"),
    (
        "[chroma.band.a]\nhue = 1\nhight = 2",
        "unknown-field",
        3,
        "chroma.band.a.hight: unknown field; known here: hue",
    ),
    ("[split]\nlow = { hue = 1, croma = 0 }", "unknown-field", 2, "split.low.croma: unknown field"),
    ("[chroma.band.a]\nscale = 1.1", "missing-field", 1, "chroma.band.a.hue: missing"),
    ("[white]\nshift = 0\nkelvin = 5000", "conflict", 3, "white.kelvin: shift and kelvin are both given"),
    (
        '[mono]\nweights = [1, 0, 0]\nfilter = "red"',
        "conflict",
        2,
        "mono.weights: filter and weights are both",
    ),
    # not TOML
    ("[curve]\nslope = .9", "syntax", 2, "Invalid value"),
    ("[curve]\nslope = 1\nslope = 2", "syntax", 3, "Cannot overwrite a value"),
    ("[curve", "syntax", 1, "TOML is expected"),
    ("a = [1,\n\n", "syntax", 3, "TOML is expected"),
    ('about = "a\0b"', "syntax", 1, "Illegal character"),
]


@pytest.mark.parametrize(("text", "code", "line", "what"), CASES)
def test_what_is_wrong_and_where(text: str, code: str, line: int, what: str) -> None:
    """Each mistake gives its code, its line and what was given against what is allowed."""
    first, *rest = report(text).splitlines()
    assert first.startswith(f"error [recipe-{code}] recipes/dusk.toml, line {line}")
    assert what in first
    assert rest
    assert rest[0].startswith("  try: ")


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("[exposure]\nevv = 1", "exposure.ev"),
        ("[exposur]\nev = 1", "exposure"),
        ("slope = 1.1", "curve.slope"),
        ('[mono]\nfilter = "yelow"', '"yellow"'),
        ("[mono]\nweights = [0.3, 0.3, 0.3]", "[0.333, 0.333, 0.334]"),
        ("[white]\nshift = 0\nkelvin = 5000", "keep white.shift or white.kelvin and delete the other"),
        ("[curve]\nslope = .9", "0.9, not .9"),
        ("qqq = 1", "delete the line"),
    ],
)
def test_what_to_try(text: str, hint: str) -> None:
    """The hint names the nearest known name, the field's right place, or what would be taken."""
    assert hint in report(text).partition("  try: ")[2]


def test_the_first_of_several_mistakes_is_told_and_the_rest_counted() -> None:
    """The mistake that stands first in the file comes first, whatever the order of the format."""
    text = "[finish]\nacutance = 4\n[exposure]\nev = 9\n[curve]\nslop = 1\n"
    said = report(text)
    assert "line 2, finish.acutance: 4" in said
    assert "(2 more to mend in this file)" in said


def test_a_format_of_the_future_is_named_before_anything_else() -> None:
    """A recipe of a format yet to come is refused as such, not for fields this version cannot know."""
    said = report("format = 2\n[halo]\nsize = 3\n")
    assert said.startswith(
        "error [recipe-format] recipes/dusk.toml, line 1, format: 2; this version reads format 1"
    )


def test_odd_keys_and_long_values_stay_on_one_short_line() -> None:
    """Keys with line breaks, and kilobytes of text, do not spill over the report."""
    for text in ('"a\\nb" = 1', f'"{"k" * 4000}" = 1', f'name = "{"n" * 4000}"', f'about = "{"b" * 4000}"'):
        assert len(report(text).splitlines()) == 2
        assert len(report(text)) < 500


def test_other_files_have_codes_of_their_own() -> None:
    """The same door reads corrections, under codes that say so."""
    with pytest.raises(RecipeError) as caught:
        parse_correction("[crop]\nleft = 0.9\nright = 0.2", source="c.toml")
    assert caught.value.code == "correction-out-of-range"
    assert (
        caught.value.message
        == "c.toml, line 1, crop: left 0.9, right 0.2; allowed right at least 0.02 beyond left"
    )
