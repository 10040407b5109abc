"""Where looks were used, and the stretches of a long history."""

from __future__ import annotations

from driftline.pages.story import Look
from driftline.pages.using import LONG, stretches, used_by_all, used_by_each, used_by_look
from pages.history import story, version


def test_a_look_names_its_shoots_with_their_versions() -> None:
    """Each shoot with its days and how many frames were printed with which version."""
    told = story()
    harbour, unnamed = used_by_look(told, told.looks[1])
    assert (harbour.name, harbour.days, harbour.frames) == (
        "harbour",
        "1 April 2031 to 2 April 2031",
        "13 prints",
    )
    assert harbour.versions[0] == ("tram-fog@4", "looks/tram-fog/4.html", "12")
    assert (unnamed.name, unnamed.frames) == ("a.dng to c.dng", "3 prints")
    assert used_by_look(told, told.looks[0]) == ()


def test_a_version_names_the_shoots_it_was_used_on() -> None:
    """Only its own frames are counted."""
    used = used_by_each(story())
    assert [(u.name, u.frames) for u in used["tram-fog@2"]] == [
        ("harbour", "1 print"),
        ("a.dng to c.dng", "3 prints"),
    ]
    assert "tram-fog@1" not in used


def test_a_version_that_is_gone_has_no_page() -> None:
    """A record may name what this ledger does not hold; it is told without a link."""
    told = story(looks=())
    assert used_by_all(told, 1)[0].versions[0] == ("tram-fog@4", "", "12")


def test_a_long_history_has_its_years_or_months() -> None:
    """Each with the version it begins with; a short one is told in one go."""
    days = [version(f"a@{n}", n * 10) for n in range(1, LONG + 10)]
    years = stretches(Look("a", "", tuple(days)).versions)
    assert [year.name for year in years] == ["2031", "2032"]
    assert years[0].anchor == "v-1"
    months = stretches([version(f"a@{n}", n) for n in range(1, LONG + 10)])
    assert [month.name for month in months] == ["March 2031", "April 2031"]
    assert stretches(days[:LONG]) == ()
