"""What versions say, read once a commit."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from driftline.ledger import Ledger
from driftline.pages import parsed
from driftline.pages.parsed import ParsedTexts
from driftline.recipe import parameters, parse_recipe

TEXTS = (
    'about = "wet mornings"\n[curve]\nslope = 1.2\n[chroma.band.brick]\nhue = 40.0\n',
    "[mono]\nweights = [0.5, 0.3, 0.2]\n[exposure]\nev = 0.25\n",
)


@pytest.fixture
def ledger(tmp_path: Path) -> Ledger:
    """Two versions: one with a band, one in black and white."""
    made = Ledger.create(tmp_path / "looks", {"tram-fog": TEXTS[0]})
    made.save("tram-fog", TEXTS[1])
    return made


def said(ledger: Ledger) -> list[object]:
    """What the versions say, newest first."""
    saved = ledger.versions()
    texts = ParsedTexts(ledger, saved)
    return [texts.said(one.ref) for one in saved]


def test_it_is_what_the_texts_say(ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """Values and purpose as ``parse_recipe`` gives them, the first time and out of the note."""
    real = [parse_recipe(text, source="x") for text in reversed(TEXTS)]
    wanted = [(recipe.about or "", parameters(recipe)) for recipe in real]
    assert said(ledger) == wanted
    monkeypatch.setattr(parsed, "parse_recipe", None)
    assert said(Ledger.open(ledger.path)) == wanted
    assert len((ledger.private / "parsed.json").read_bytes()) < 1000


def test_only_what_is_new_is_read(ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """After one more save one text is parsed; its text is there, and so are the others when asked for."""
    said(ledger)
    read: list[str] = []

    def watched(text: str, *, source: str) -> object:
        read.append(source)
        return parse_recipe(text, source=source)

    ledger.save("tram-fog", "curve.slope = 1.3\n")
    monkeypatch.setattr(parsed, "parse_recipe", watched)
    saved = ledger.versions()
    texts = ParsedTexts(ledger, saved)
    assert read == ["tram-fog@3"]
    for _ in range(9):
        assert [texts.text(one.ref) for one in saved] == ["curve.slope = 1.3\n", *reversed(TEXTS)]


@pytest.mark.parametrize("change", ["cut", "empty", "list", "values", "time"])
def test_a_note_of_no_use_is_made_again(ledger: Ledger, change: str) -> None:
    """Damaged, or made when recipes were read otherwise: the texts decide."""
    wanted, path = said(ledger), ledger.private / "parsed.json"
    note = json.loads(path.read_bytes())
    wrong = {"not": "a value"} if change == "values" else 9.0
    note["by"] = {commit: ["", {"curve.slope": wrong}] for commit in note["by"]}
    if change == "time":
        note["made_of"] = "of another time"
    damaged = {"cut": b'{"made_of": "', "empty": b"", "list": b"[1]"}
    path.write_bytes(damaged.get(change, json.dumps(note).encode()))
    assert said(ledger) == wanted


def test_a_version_that_cannot_be_read_says_nothing(ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its neighbours do; it is looked at again the next time."""
    monkeypatch.setattr(Ledger, "texts", lambda self, saved: {"tram-fog@1": TEXTS[0], "tram-fog@2": "[curve"})
    newer, older = said(ledger)
    assert newer is None
    assert older is not None
    monkeypatch.undo()
    assert None not in said(ledger)
