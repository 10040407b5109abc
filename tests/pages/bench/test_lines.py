"""The data sheet: every parameter has its line, and says what it does."""

from __future__ import annotations

from driftline.pages.bench.lines import LINES, sheet
from driftline.recipe import field_specs, from_parameters, parameters

ASKED = sheet()


def test_every_parameter_has_one_line() -> None:
    """All of format 1, each once, in some question; so nothing of a recipe is out of reach of the page."""
    paths = [line["path"] for asked in ASKED for line in asked["lines"]]
    assert sorted(paths) == sorted(field_specs())
    assert set(LINES) == set(field_specs())


def test_a_line_says_what_the_recipe_says() -> None:
    """Range, neutral value, choices and the sentence are the recipe's own."""
    for asked in ASKED:
        for line in asked["lines"]:
            spec = field_specs()[line["path"]]
            assert (line["low"], line["high"], line["neutral"]) == (spec.low, spec.high, spec.neutral)
            assert line["means"] == spec.means
            assert line["means"].endswith(".")
            assert line["choices"] == list(spec.choices)


def test_what_a_pair_shows_is_allowed() -> None:
    """The value shown while a parameter is neutral can be put on, and is not the neutral one."""
    for path, line in LINES.items():
        if line.shown is None:
            continue
        real = path.replace("*", "brick")
        band = {"chroma.band.brick.hue": 40.0, "chroma.band.brick.width": 40.0} if "*" in path else {}
        recipe = from_parameters({**band, real: line.shown})
        assert parameters(recipe)[real] == line.shown
        assert line.shown != field_specs()[path].neutral


def test_a_step_is_what_a_person_writes() -> None:
    """Numbers step by something that its decimals can write; switches have no step."""
    for path, line in LINES.items():
        spec = field_specs()[path]
        assert (spec.low is None) == (line.step == 0)
        assert round(line.step, line.decimals) == line.step
