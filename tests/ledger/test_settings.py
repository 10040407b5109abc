"""The ledger's settings."""

from __future__ import annotations

from math import inf
from pathlib import Path

import pytest

from driftline.errors import LedgerError, RecipeError
from driftline.ledger import Ledger
from driftline.ledger.settings import Bands, Settings, default_settings_text, parse_settings


def test_the_file_of_a_new_ledger_says_what_holds_anyway() -> None:
    """Whatever the default file says of bands, credit and limits is the default."""
    read = parse_settings(default_settings_text(), source="settings.toml")
    assert read.model_copy(update={"purposes": {}}) == Settings()
    assert set(read.purposes) == {"screen", "paper"}


def test_the_default_bands_are_those_of_the_drift_model() -> None:
    """The two tables (settings and comparator) say the same of every cause, either side of zero."""
    from driftline.drift.verdict import DEFAULT_BANDS, bands_from

    assert bands_from(Bands().limits()).keys() == DEFAULT_BANDS.keys()
    for key, band in DEFAULT_BANDS.items():
        assert Bands().limits()[key] == (*band.limits(1.0), *band.limits(-1.0)), key


def test_bands_may_differ_by_sign() -> None:
    """Amounts below zero may have tolerances of their own."""
    text = "[bands]\nchroma = { notice = 0.25, over = 0.5, notice_below = 0.1, over_below = 0.2 }\n"
    chroma = parse_settings(text, source="x").bands.chroma
    assert (chroma.for_sign(0.3), chroma.for_sign(-0.3)) == ((0.25, 0.5), (0.1, 0.2))
    assert Bands().clip_low.for_sign(-1.0) == (inf, inf)


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("[bands]\nexposure = { notice = 0.5, over = 0.3 }", "bands.exposure"),
        ("[bands]\nexposure = { notice = -1.0, over = 0.3 }", "bands.exposure.notice"),
        ("[bands]\nexposure = { notice = nan, over = 0.3 }", "bands.exposure.notice"),
        ("[bands]\nexposure = { notice = 0.1 }", "bands.exposure.over"),
        ("[bands]\nsharpness = { notice = 0.1, over = 0.2 }", "bands.sharpness"),
        ("colour = 1", "colour"),
        ("[credit]\ncreator = 7", "credit.creator"),
        ("[purposes.screen]\nquality = 101", "purposes.screen.quality"),
        ('[purposes.wall]\nencoding = "tiff"\nquality = 90', "purposes.wall"),
        ("[purposes.wall]\nacutance = 2.0", "purposes.wall.acutance"),
        ('[purposes.wall]\nspace = "rec2020"', "purposes.wall.space"),
        ("[purposes.wall]\nceiling_bytes = 10", "purposes.wall.ceiling_bytes"),
        ('file_name = ["recipe", "version"]', "file_name"),
        ('file_name = ["frame", "colour"]', "file_name"),
        ('file_name = ["frame", "frame"]', "file_name"),
        ("[practice]\niso_ceiling = 0", "practice.iso_ceiling"),
        ("[practice]\nnight_ev = [-1.0, -2.0]", "night_ev"),
        ("[practice]\nsun_from = 12.0", "sun_from"),
        ("[limits]\nworkers = 0", "limits.workers"),
        ("[limits]\nworkers = 1.5", "limits.workers"),
    ],
)
def test_mistakes_are_named(text: str, place: str) -> None:
    """The error has a settings- code and names source and field."""
    with pytest.raises(RecipeError) as caught:
        parse_settings(text, source="settings.toml")
    assert caught.value.code.startswith("settings-")
    assert "settings.toml" in str(caught.value)
    assert place in str(caught.value)


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ('["date", "recipe"]', 'line 1, file_name: ["date", "recipe"]; "frame" must be one of its parts'),
        ('["frame", "place"]', 'line 1, file_name[1]: "place"; allowed "date", "frame", "recipe"'),
        ('["frame", "dat"]', 'try: "date"'),
        ('"frame"', 'file_name: "frame"; some of "date", "frame", "recipe"'),
    ],
)
def test_a_name_that_cannot_be_is_told_with_its_line(value: str, words: str) -> None:
    """What was given, where, and what is allowed; no word of how it is checked."""
    with pytest.raises(RecipeError) as caught:
        parse_settings(f"file_name = {value}\n", source="settings.toml")
    assert words in caught.value.report()


def test_a_hand_edit_holds_at_once_and_is_kept_when_saved(ledger: Ledger) -> None:
    """settings() reads the working file; save_settings commits it as a commit of its own kind."""
    path = ledger.path / "settings.toml"
    path.write_text(path.read_text().replace('creator = ""', 'creator = "A. Nonymous"'))
    assert ledger.settings().credit.creator == "A. Nonymous"
    before = len(ledger.versions())
    assert ledger.save_settings(note="my name")
    assert not ledger.save_settings()
    assert len(ledger.versions()) == before
    assert ledger.save_settings("format = 1\n")
    assert path.read_text() == "format = 1\n"


def test_settings_that_cannot_be_read_are_not_saved(ledger: Ledger) -> None:
    """A broken file is an error, and stays the photographer's."""
    path = ledger.path / "settings.toml"
    path.write_text("[bands]\nexposure = 3\n")
    with pytest.raises(RecipeError):
        ledger.save_settings()
    with pytest.raises(LedgerError) as caught:
        ledger.save_settings("format = 1\n")
    assert caught.value.code == "unsaved-edit"


def test_a_ledger_without_the_file_has_defaults(ledger: Ledger) -> None:
    """A deleted settings file is no obstacle."""
    (ledger.path / "settings.toml").unlink()
    assert ledger.settings() == Settings()


def test_settings_are_frozen(tmp_path: Path) -> None:
    """Settings are data."""
    with pytest.raises(ValueError, match="frozen"):
        Settings().credit.creator = "x"  # type: ignore[misc]
