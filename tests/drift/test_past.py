"""An edit beside the photographer's own past."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import pytest

from driftline.drift.causes import UNITS
from driftline.drift.checking import Checked, CheckedCause
from driftline.drift.past import Place, past_edits, past_in_words, past_of, place_among, places
from driftline.drift.registration import SAME_PLACE
from driftline.ledger import Ledger


@dataclass
class Saved:
    """As much of a saved version as the past asks for."""

    drift: dict[str, Any] | None


def versions(*edits: float | None) -> list[Saved]:
    """Versions whose edit column in chroma is given; None was not measured."""
    return [
        Saved(None if edit is None else {"causes": {"chroma": {"edit": edit}, "hue": {"reason": "mono"}}})
        for edit in edits
    ]


def checked(edit: float) -> Checked:
    """A check with one comparable cause."""
    causes = {
        key: CheckedCause(key, None, None, None, None, "not judged", 0.0, False, False, "") for key in UNITS
    }
    causes["chroma"] = CheckedCause("chroma", 0.0, edit, edit, edit, "leaning", 1.2, True, True, "")
    return Checked(causes, "leaning", "chroma", 0.0, SAME_PLACE, 1.0)


def test_only_the_last_measured_versions_count() -> None:
    """Versions without a measured drift, and causes without a number, are passed over."""
    past = past_edits(versions(0.1, None, 0.2, 0.3), last=2)
    assert past["chroma"] == (0.1, 0.2)
    assert past["hue"] == ()


def test_the_other_way_is_less() -> None:
    """A version that went the other way went less far than one that goes this way."""
    past = [-0.9] * 5 + [0.1] * 4 + [0.5]
    assert place_among(0.3, past) == Place(9, 10)
    assert place_among(-0.3, past) == Place(5, 10)
    assert place_among(0.3, past, signed=False) == Place(9, 10)


def test_a_short_past_says_nothing() -> None:
    """With fewer than ten versions there is no place among them."""
    assert place_among(0.3, [0.1] * 9) is None
    assert places(checked(0.3), past_edits(versions(*[0.1] * 9))) == {}


def test_words_for_what_is_rare() -> None:
    """An edit further than nine in ten of the last versions is told, an ordinary one is not."""
    past = past_edits(versions(*[0.01 * n for n in range(100)]))
    assert past_in_words(checked(0.928), past) == ["colour × 1.90, more than 93 of your last 100 versions"]
    assert past_in_words(checked(0.5), past) == []
    (line,) = past_in_words(checked(0.985), past, whose="tram-fog's")
    assert line.endswith("more than 99 of tram-fog's last 100 versions")


def test_what_is_noise_or_unsure_is_not_told() -> None:
    """An edit inside the noise floor goes further than nobody, however little was done before."""
    past = past_edits(versions(*[0.0] * 20))
    assert past_in_words(checked(0.02), past) == []
    assert len(past_in_words(checked(0.2), past)) == 1
    doubtful = checked(0.2)
    causes = {**doubtful.causes, "chroma": replace(doubtful.causes["chroma"], confident=False)}
    assert past_in_words(replace(doubtful, causes=causes), past) == []


def test_a_ledger_and_a_recipe_each_have_a_past(tmp_path: Any) -> None:
    """Twelve versions of one recipe and one of another: both are counted, what is looked at is left out."""
    ledger = Ledger.create(tmp_path / "looks", {"dusk": 'name = "dusk"\n', "noon": 'name = "noon"\n'})
    for n in range(12):
        text = f'name = "dusk"\n[chroma]\nscale = {1 + 0.01 * (n + 1):.2f}\n'
        ledger.save("dusk", text, drift={"causes": {"chroma": {"edit": 0.01 * (n + 1)}}})
    last = ledger.save("noon", "[chroma]\nscale = 2.0\n", drift={"causes": {"chroma": {"edit": 1.0}}})
    past = past_of(ledger, "dusk")
    assert past.json(checked(0.5))["chroma"] == {
        "ledger": {"less": 12, "of": 13},
        "recipe": {"less": 12, "of": 12},
    }
    assert past.json(checked(0.5))["exposure"] == {"ledger": None, "recipe": None}
    assert past.in_words(checked(0.5)) == ["colour × 1.41, more than 12 of your last 13 versions"]
    assert past_of(ledger, "noon", but=last.ref).of_recipe["chroma"] == ()


def test_a_recipes_own_past_is_told_where_the_ledgers_is_not(tmp_path: Any) -> None:
    """A mild recipe pushed: ordinary for the ledger, rare for it."""
    ledger = Ledger.create(tmp_path / "looks", {"dusk": 'name = "dusk"\n', "noon": 'name = "noon"\n'})
    for n in range(20):
        name, size = ("dusk", 0.01) if n % 2 else ("noon", 0.9)
        text = f'name = "{name}"\n[chroma]\nscale = {1 + size + 0.001 * n:.3f}\n'
        ledger.save(name, text, drift={"causes": {"chroma": {"edit": size}}})
    assert past_of(ledger, "dusk").in_words(checked(0.4)) == [
        "colour × 1.32, more than 10 of dusk's last 10 versions"
    ]


def test_a_real_ledger_gives_its_past(tmp_path: Any) -> None:
    """Versions saved with a measured drift are read back as the past."""
    ledger = Ledger.create(tmp_path / "looks", {"dusk": 'name = "dusk"\n'})
    for n in range(3):
        text = f'name = "dusk"\n[exposure]\nev = {0.1 * (n + 1):.1f}\n'
        ledger.save("dusk", text, drift={"causes": {"exposure": {"edit": 0.1 * (n + 1)}}})
    assert past_edits(ledger.versions("dusk"))["exposure"] == pytest.approx((0.3, 0.2, 0.1))
