"""Checking one recipe after another on the same frame, and giving up work that nobody waits for."""

from __future__ import annotations

import pytest

from drift.shoot import demo
from driftline.drift import FLOORS, check_frame, shares
from driftline.drift.rechecking import Rechecking
from driftline.recipe import Chroma, Curve, Exposure, Recipe

LOOK = Recipe(exposure=Exposure(ev=0.3), curve=Curve(slope=1.3), chroma=Chroma(scale=1.4))


@pytest.mark.parametrize("word", ["noon", "grey"])
def test_it_reads_what_a_check_reads(word: str) -> None:
    """Edit, total, judged amounts and verdicts are those of ``check_frame``; the floor is near."""
    again, once = Rechecking(demo(word)).check(LOOK), check_frame(demo(word), LOOK)
    assert (again.verdict, again.largest) == (once.verdict, once.largest)
    for key, cause in once.causes.items():
        found = again.causes[key]
        assert (found.edit, found.total, found.judged, found.verdict) == (
            cause.edit,
            cause.total,
            cause.judged,
            cause.verdict,
        )
        assert found.floor == pytest.approx(cause.floor, abs=4 * FLOORS[key])


def test_the_floor_is_the_same_whatever_the_edit() -> None:
    """It is measured once: two recipes that clip different places read one floor."""
    checking = Rechecking(demo("noon"))
    one, other = checking.check(LOOK), checking.check(Recipe(exposure=Exposure(ev=-1.0)))
    assert [cause.floor for cause in one.causes.values()] == [cause.floor for cause in other.causes.values()]


def test_shares_stop_when_asked() -> None:
    """What the pause raises comes out, before the next rendering is made."""

    class EnoughError(Exception):
        pass

    asked: list[int] = []

    def pause() -> None:
        asked.append(1)
        if len(asked) == 3:
            raise EnoughError

    with pytest.raises(EnoughError):
        Rechecking(demo("grey")).shares(LOOK, pause=pause)
    assert len(asked) == 3
    assert Rechecking(demo("grey")).shares(LOOK) == shares(demo("grey"), LOOK)
