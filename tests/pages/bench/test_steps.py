"""Steps that outlive the program: as they were noted, or none at all."""

from __future__ import annotations

import json

import pytest

from driftline.pages.bench.steps import Steps
from driftline.recipe import NEUTRAL, parameters

PLAIN = parameters(NEUTRAL)


def slope(value: float) -> dict[str, object]:
    """Neutral but for the slope."""
    return {**PLAIN, "curve.slope": value}


def taken() -> Steps:
    """Three steps, the last of which was undone: 1.0, 1.1, *1.2*, 1.3."""
    steps = Steps()
    steps.past, steps.future = [slope(1.0), slope(1.1)], [slope(1.3)]
    return steps


def test_noted_and_recalled() -> None:
    """The same states in the same order; a note of many steps is small, as each says only what differs."""
    steps = taken()
    again = Steps.recalled(steps.noted(slope(1.2)), slope(1.2))
    assert (again.past, again.future) == (steps.past, steps.future)
    for n in range(900):
        steps.keep(slope(1 + n / 1000))
    note = steps.noted(slope(1.2))
    assert len(note) < 40_000
    assert len(Steps.recalled(note, slope(1.2)).past) == 500


def test_something_else_stands_by_now() -> None:
    """What stood at the note is one step more to go back to, and nothing is left to be redone."""
    again = Steps.recalled(taken().noted(slope(1.2)), slope(1.7))
    assert again.past == [slope(1.0), slope(1.1), slope(1.2)]
    assert again.future == []


def damaged() -> list[bytes | None]:
    """Notes of no use."""
    good = json.loads(taken().noted(slope(1.2)))
    return [
        None, b"", b"[]", b"{", b"\xff", b"[" * 100_000,
        *(json.dumps({**good, **other}).encode() for other in (
            {"form": 2}, {"stands": 7}, {"stands": {"curve.slope": 99.0}}, {"back": [7]}, {"back": None},
            {"on": [{"set": {"no.such": 1.0}, "gone": []}]},
            {"on": [{"set": {"curve.slope": "steep"}, "gone": []}]},
        )),
    ]  # fmt: skip


@pytest.mark.parametrize("note", damaged())
def test_a_note_that_makes_no_sense_is_no_steps(note: bytes | None) -> None:
    """Cut short, of another form, or with values that no recipe can have: it costs the steps alone."""
    again = Steps.recalled(note, slope(1.2))
    assert (again.past, again.future) == ([], [])
