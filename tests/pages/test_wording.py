"""Words for drift, kinds and times."""

from __future__ import annotations

import pytest

from driftline.drift.causes import NAMES, UNITS
from driftline.pages.story import Amount
from driftline.pages.wording import (
    amount_words,
    apart_words,
    cause_name,
    count,
    drift_words,
    number,
    origin_words,
    span,
)
from pages.history import START, amount, version


@pytest.mark.parametrize("key", UNITS)
def test_every_cause_of_drift_has_a_name(key: str) -> None:
    """No cause is shown by its key with underscores."""
    assert "_" not in cause_name(key)
    assert amount_words(amount(key, 0.5, 0.2, unit=UNITS[key])).startswith(cause_name(key))


@pytest.mark.parametrize(
    ("key", "up", "down"),
    [
        ("exposure", "lighter", "darker"),
        ("white", "warmer", "cooler"),
        ("duv", "greener", "more magenta"),
        ("chroma", "more of it", "less of it"),
    ],
)
def test_direction_is_said(key: str, up: str, down: str) -> None:
    """Which way the picture moved stands in words beside the signed number."""
    assert amount_words(amount(key, 0.5, 0.2)).endswith(up)
    assert amount_words(amount(key, -0.5, 0.2)).endswith(down)


def test_numbers_have_a_real_minus_and_no_sign_at_zero() -> None:
    """−0.001 EV rounds to plain 0.00, not to −0.00."""
    assert number(-0.001, "EV") == "0.00 EV"
    assert number(-12.4, "mired") == "−12 mired"
    assert number(7.25, "deg") in ("+7.2°", "+7.3°")


def test_causes_are_called_as_on_the_terminal() -> None:
    """One name a cause in all places; a cause that is a size has no sign."""
    for key, name in NAMES.items():
        assert cause_name(key) == name
        assert amount_words(Amount(key, UNITS[key], 0.0, 0.5, 0.5, 0.5)).startswith(f"{name} ")
    assert amount_words(Amount("split_tint", "100 z", 0.0, 1.7, 1.7, 1.7)) == "split tone 1.7"


def test_a_number_that_was_not_judged_says_so() -> None:
    """Low confidence is shown and never judged."""
    unsure = Amount("white", "mired", 2.0, 20.0, 22.0, None, reason="few neutral tones")
    assert amount_words(unsure) == "white +22 mired, not judged: few neutral tones"


def test_drift_is_told_farthest_first_and_small_change_is_left_out() -> None:
    """What stays under a twentieth of notice is not mentioned."""
    amounts = [amount("exposure", 0.005, 0.17), amount("contrast", 0.2, 0.21), amount("chroma", 0.5, 0.25)]
    assert [words.split()[0] for words in drift_words(amounts)] == ["colour", "contrast"]


@pytest.mark.parametrize(
    ("kind", "parents", "words"),
    [
        ("version", (), "first version"),
        ("version", ("tram-fog@1",), ""),
        ("fork", ("tram-fog@4",), "forked from tram-fog@4"),
        ("blend", ("a@1", "b@2"), "blended of a@1 and b@2"),
        ("restore", ("tram-fog@2",), "brought back from tram-fog@2"),
        ("temper", ("tram-fog@2",), "softened from tram-fog@2"),
        ("merge", ("a@2", "a@2.laptop"), "two copies brought together: a@2 and a@2.laptop"),
    ],
)
def test_how_a_version_came_about(kind: str, parents: tuple[str, ...], words: str) -> None:
    """Every kind of version is told in words with its parents."""
    assert origin_words(version("tram-fog@5", kind=kind, parents=parents)) == words


def test_days_and_counts() -> None:
    """Days are written out, and one of a thing is not a plural."""
    assert span(START, START) == "3 March 2031"
    assert count(1, "version") == "1 version"
    assert count(2, "version") == "2 versions"


def test_what_cannot_be_compared_is_told_by_its_reason() -> None:
    """Causes of one reason stand together; a proof without any number is one sentence, not sixteen."""

    def apart(key: str, reason: str = "") -> Amount:
        return Amount(key, "", None, None, None, None, reason=reason)

    some = [
        amount("exposure", 0.1, 0.17),
        apart("hue", "too little colour"),
        apart("hue_sky", "too little colour"),
        apart("white"),
    ]
    assert apart_words(some) == (
        "hues and sky hues: not comparable, too little colour",
        "white: not comparable",
    )
    assert apart_words([apart("hue"), apart("white")]) == (
        "nothing could be compared with the camera rendering",
    )
    assert apart_words(some[:1]) == ()
