"""Lines are found in the lossless document, for every way TOML can write a thing."""

from __future__ import annotations

import pytest

from driftline.recipe.lines import header_lines, line_of

TEXT = '''# a look
exposure.ev = 1
about = """
[curve]
slope = 3
"""

[curve] # firm
slope = 1.1

[chroma]
band.a.hue = 3
[chroma.band.b] # sky
hue = 4

[split]
low = { hue = 1, chroma = 2 }
high.hue = 9
[mono]
weights = [
  0.3, # red
  0.6,
  0.1,
]
'''


@pytest.mark.parametrize(
    ("place", "line"),
    [
        (("exposure", "ev"), 2),
        (("exposure",), 2),
        (("about",), 3),
        (("curve",), 8),
        (("curve", "slope"), 9),
        (("chroma",), 11),
        (("chroma", "band", "a", "hue"), 12),
        (("chroma", "band", "a"), 12),
        (("chroma", "band", "b"), 13),
        (("chroma", "band", "b", "hue"), 14),
        (("split", "low", "chroma"), 17),
        (("split", "high", "hue"), 18),
        (("mono", "weights"), 20),
        (("mono", "weights", 0), 21),
        (("mono", "weights", 2), 23),
    ],
)
def test_where_a_thing_stands(place: tuple[str | int, ...], line: int) -> None:
    """Dotted keys, inline tables, elements of arrays and tables with and without a header."""
    assert line_of(TEXT, place) == line


def test_what_is_missing_is_looked_for_around_it() -> None:
    """A key that is not there has the line of its table; of a table that is not there, none."""
    assert line_of(TEXT, ("curve", "toe")) == 8
    assert line_of(TEXT, ("chroma", "band", "b", "width")) == 13
    assert line_of(TEXT, ("grain", "pitch_um")) is None


def test_a_text_that_is_no_toml_has_no_lines() -> None:
    """Nothing is raised on the way to an error message."""
    assert line_of("[curve", ("curve",)) is None


def test_headers() -> None:
    """Only real headers count, not what looks like one within a text."""
    assert header_lines(TEXT) == {
        ("curve",): 8,
        ("chroma",): 11,
        ("chroma", "band", "b"): 13,
        ("split",): 16,
        ("mono",): 19,
    }
