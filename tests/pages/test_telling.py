"""A real ledger told as a story."""

from __future__ import annotations

from pathlib import Path

import pytest

from driftline.errors import DriftlineError
from driftline.ledger import Ledger
from driftline.pages import build_page, story_of
from pages.history import image

PROOF = "ab" * 32


@pytest.fixture(scope="module")
def ledger(tmp_path_factory: pytest.TempPathFactory) -> Ledger:
    """A ledger with three versions, one of them measured, and a fork."""
    made = Ledger.create(tmp_path_factory.mktemp("looks") / "looks", {"tram-fog": 'about = "wet mornings"\n'})
    drift = {
        "causes": {"exposure": {"unit": "EV", "comparable": True, "reason": ""}},
        "frames": {PROOF: {"causes": {"exposure": [0.0, 0.34, 0.34, 0.34]}}},
    }
    made.save("tram-fog", "[exposure]\nev = 0.3\n", note="lighter", drift=drift, proofs=[PROOF])
    made.save("tram-fog", 'about = "fog"\n[exposure]\nev = 0.1\n')
    made.fork("tram-fog@2", "quay-dusk")
    return made


def test_looks_hold_their_versions_oldest_first(ledger: Ledger) -> None:
    """Every recipe is a look, by name, with all its versions in the order they came about."""
    told = story_of(ledger)
    assert {look.name: [v.ref for v in look.versions] for look in told.looks} == {
        "quay-dusk": ["quay-dusk@1"],
        "tram-fog": ["tram-fog@1", "tram-fog@2", "tram-fog@3"],
    }
    assert told.title == "looks"
    assert told.looks[1].about == "fog"
    assert told.looks[0].versions[0].parents == ("tram-fog@2",)


def test_distance_is_by_the_bands_in_the_settings(ledger: Ledger) -> None:
    """0.34 EV is 2 × the default notice of 0.17 EV, and leaning; the words and note are the ledger's."""
    version = story_of(ledger).looks[1].versions[1]
    assert version.distance == pytest.approx(2.0)
    assert version.verdict == "leaning"
    assert version.note == "lighter"
    assert version.words == ("exposure 0.00 → +0.30 EV",)


def test_pictures_are_asked_for_by_version_and_proof(ledger: Ledger, tmp_path: Path) -> None:
    """Each is asked for once, the camera rendering without a ref, and never again in the same folder."""
    asked: list[tuple[str | None, str]] = []

    def pictures(ref: str | None, proof: str) -> bytes:
        asked.append((ref, proof))
        return image()

    for _ in range(2):
        told = story_of(ledger, pictures=pictures, names={PROOF: "night-07.dng"}, edition="1")
        front = build_page(tmp_path / "pages", told)
    assert sorted(asked, key=str) == sorted([(None, PROOF), ("tram-fog@2", PROOF)], key=str)
    assert "night-07.dng" in (front.parent / "looks/tram-fog/2.html").read_text()
    build_page(tmp_path / "pages", story_of(ledger, pictures=pictures, edition="2"))
    assert len(asked) == 3  # another edition renders the version again; the camera's own picture stays


def test_looks_that_render_alike_share_their_pictures(tmp_path: Path) -> None:
    """A fork and a version brought back have the parameters of another, and are not developed again."""
    made = Ledger.create(tmp_path / "looks", {"tram-fog": "[exposure]\nev = 0.1\n"})
    made.keep_proof(PROOF, {"facts.json": b"{}"})
    made.set_proofs("tram-fog", [PROOF])
    made.save("tram-fog", "[exposure]\nev = 0.3\n")
    made.restore("tram-fog@1")
    made.fork("tram-fog@2", "quay-dusk")
    made.set_proofs("quay-dusk", [PROOF])
    asked: list[str | None] = []

    def pictures(ref: str | None, proof: str) -> bytes:
        asked.append(ref)
        return image()

    front = build_page(tmp_path / "pages", story_of(made, pictures=pictures))
    assert asked.count("tram-fog@3") + asked.count("tram-fog@1") == 1
    assert asked.count("tram-fog@2") + asked.count("quay-dusk@1") == 1
    assert "developed with tram-fog@3" in (front.parent / "looks/tram-fog/3.html").read_text()


def test_missing_pictures_say_why(ledger: Ledger, tmp_path: Path) -> None:
    """A proof that is not kept any more leaves its words in the place of the picture."""
    front = build_page(tmp_path / "pages", story_of(ledger, pictures=lambda ref, proof: None))
    text = (front.parent / "looks/tram-fog/2.html").read_text()
    assert "this proof is not kept in the ledger" in text
    assert "there is no camera rendering" in text


def test_the_recipe_text_is_the_one_that_was_saved(ledger: Ledger, tmp_path: Path) -> None:
    """Each version's page shows its own text."""
    front = build_page(tmp_path / "pages", story_of(ledger))
    assert "ev = 0.3" in (front.parent / "looks/tram-fog/2.html").read_text()
    assert "ev = 0.1" in (front.parent / "looks/tram-fog/3.html").read_text()


def test_a_folder_that_is_taken_is_an_error_before_anything_is_made(ledger: Ledger, tmp_path: Path) -> None:
    """Pages are not written into the ledger by mistake."""
    with pytest.raises(DriftlineError, match="left alone"):
        build_page(ledger.path, story_of(ledger))
