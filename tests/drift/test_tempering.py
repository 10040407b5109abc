"""Tempering: the strongest softer recipe that has a verdict on every proof, measured again."""

from __future__ import annotations

from copy import copy

import pytest

from drift.level import CHART, FOG, kept_frame, level_frame
from driftline.drift import check_frame, temper
from driftline.drift.easing import eased
from driftline.errors import UsageError
from driftline.pipeline import KeptFrame
from driftline.recipe import NEUTRAL, Chroma, Curve, Exposure, Grain, Mono, Recipe, White, differences

HARD = Recipe(curve=Curve(slope=1.5, toe=0.2), white=White(shift=6.0), grain=Grain(rms_granularity=6.0))
TWO = (CHART, FOG)


def bare_frame() -> KeptFrame:
    """A kept proof whose camera rendering is gone."""
    bare = copy(kept_frame(CHART))
    bare._rendering = None
    return bare


def verdicts(recipe: Recipe, *frames: KeptFrame) -> list[str]:
    """The verdict on each frame, measured afresh."""
    return [check_frame(frame, recipe).verdict for frame in frames]


def test_the_softer_recipe_has_the_verdict_when_measured_again() -> None:
    """On every proof; the numbers are short, and grain is left alone."""
    frames = [level_frame(index) for index in TWO]
    found = temper(frames, HARD)
    assert verdicts(HARD, *frames) == ["overdone", "overdone"]
    assert verdicts(found.recipe, *frames) == ["in keeping"] * 2
    assert (found.reached, found.already, found.verdict_before, found.verdict) == (
        True, False, "overdone", "in keeping",
    )  # fmt: skip
    assert 0 < found.strength < 1
    assert found.recipe == eased(HARD, found.strength)
    assert found.recipe.grain == HARD.grain
    assert found.changes == differences(HARD, found.recipe)
    assert [one.verdict for one in found.after] == ["in keeping"] * 2


def test_one_hundredth_more_would_be_too_much() -> None:
    """The strength is the limit: the next step up no longer has the verdict."""
    frame = level_frame(CHART)
    recipe = Recipe(exposure=Exposure(ev=0.9))
    found = temper([frame], recipe)
    assert verdicts(found.recipe, frame) == ["in keeping"]
    more = [eased(recipe, found.strength + n / 100) for n in (1, 2)]
    assert any(verdicts(one, frame) == ["leaning"] for one in more)


def test_to_leaning_eases_less() -> None:
    """A milder verdict leaves more of the recipe."""
    frame = level_frame(CHART)
    leaning, keeping = (temper([frame], HARD, verdict=verdict) for verdict in ("leaning", "in keeping"))
    assert leaning.verdict == "leaning"
    assert leaning.strength > keeping.strength
    assert verdicts(leaning.recipe, frame) == ["leaning"]


def test_only_the_largest_leaves_the_others_alone() -> None:
    """As few sections as are enough, those with the largest shares; the others stay as they are."""
    frame = level_frame(CHART)
    found = temper([frame], HARD, along="largest")
    assert found.sections == ("curve",)
    assert {change.field for change in found.changes} <= {"curve.slope", "curve.toe"}
    assert verdicts(found.recipe, frame) == ["in keeping"]


def test_only_the_largest_takes_a_second_when_one_is_not_enough() -> None:
    """Where two sections are each too far, both are eased and the third is not."""
    frame = level_frame(CHART)
    recipe = Recipe(exposure=Exposure(ev=0.9), chroma=Chroma(scale=1.7), white=White(shift=4.0))
    found = temper([frame], recipe, along="largest")
    assert found.sections == ("exposure", "chroma")
    assert found.recipe.white == recipe.white
    assert verdicts(found.recipe, frame) == ["in keeping"]


def test_what_is_fine_stays() -> None:
    """A recipe that has the verdict already is given back, with nothing changed."""
    soft = Recipe(white=White(shift=3.0))
    found = temper([level_frame(CHART)], soft)
    assert (found.already, found.reached, found.strength, found.changes) == (True, True, 1.0, ())
    assert found.recipe is soft


def test_what_mono_does_cannot_be_eased() -> None:
    """Where black and white alone is too far, it is said that the verdict is out of reach."""
    bands = {"contrast": (0.001, 0.002)}
    found = temper(
        [level_frame(CHART)], Recipe(mono=Mono(filter="blue"), curve=Curve(slope=1.2)), bands=bands
    )
    assert (found.reached, found.strength) == (False, 0.0)
    assert found.recipe == Recipe(mono=Mono(filter="blue"))
    assert found.verdict != "in keeping"


def test_a_picture_pushed_into_black_is_eased_until_it_can_be_judged() -> None:
    """An edit of which nothing can be compared is no way to have a verdict."""
    frame = level_frame(CHART)
    black = Recipe(exposure=Exposure(ev=-6.0), curve=Curve(slope=2.0, toe=1.0))
    assert verdicts(black, frame) == ["not judged"]
    found = temper([frame], black)
    assert verdicts(found.recipe, frame) == ["in keeping"]


def test_proofs_that_cannot_be_judged_are_passed_over() -> None:
    """One without a camera rendering does not count; when there is no other it is said."""
    bare = bare_frame()
    recipe = Recipe(curve=Curve(slope=1.5))
    found = temper([bare, level_frame(CHART)], recipe)
    assert [one.verdict for one in found.after] == ["not judged", "in keeping"]
    with pytest.raises(UsageError, match="no proof can be judged: no camera rendering"):
        temper([bare], recipe)
    with pytest.raises(UsageError, match="no proof can be judged"):
        temper([], recipe)


@pytest.mark.parametrize(
    ("words", "code"), [({"verdict": "overdone"}, "verdict"), ({"along": "some"}, "along")]
)
def test_words_that_there_are_not(words: dict[str, str], code: str) -> None:
    """No such verdict to temper to; no such way."""
    with pytest.raises(UsageError) as caught:
        temper([level_frame(CHART)], NEUTRAL, **words)  # type: ignore[arg-type]  # on purpose
    assert caught.value.code == f"temper-{code}"
