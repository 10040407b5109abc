"""Measuring versions on proofs that were chosen after they were saved."""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest

from demo_frames import named
from driftline.drift import add_proofs, check_frame, kept_frame
from driftline.drift.rechecking import Rechecking
from driftline.errors import FrameError
from driftline.ledger import Ledger
from driftline.pages.bench.past import versions_json
from driftline.pages.later import LaterReadings, edition_of
from driftline.pipeline import open_frame

TEXTS = ("curve.slope = 1.1\n", "curve.slope = 1.4\n", "curve.slope = 1.1\n")


@pytest.fixture(scope="module")
def _ledger(tmp_path_factory: pytest.TempPathFactory) -> Ledger:
    made = Ledger.create(tmp_path_factory.mktemp("looks") / "looks", {"tram-fog": TEXTS[0]})
    for text in TEXTS[1:]:
        made.save("tram-fog", text)
    add_proofs(made, "tram-fog", [open_frame(named("grey-middle"))])
    return made


@pytest.fixture
def ledger(_ledger: Ledger, tmp_path: Path) -> Ledger:
    """Three versions, the last like the first, saved before their proof was chosen."""
    return Ledger.open(shutil.copytree(_ledger.path, tmp_path / "looks"))


def proof_of(ledger: Ledger) -> str:
    """The one proof."""
    (proof,) = ledger.kept_proofs()
    return proof


def test_each_look_is_measured_once_and_found_again(ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """As ``check_frame`` measures it; looks that are alike share it; the next program measures nothing."""
    proof, told = proof_of(ledger), []
    later = LaterReadings(ledger, edition_of(ledger))
    assert [later.found(saved, proof) for saved in ledger.versions()] == [None] * 3
    later.measure(progress=lambda done, of: told.append((done, of)))
    assert told == [(2, 2)]
    third, second, first = (later.found(saved, proof) for saved in ledger.versions())
    assert first == third
    assert second is not None
    assert second.day == date.today()
    checked = check_frame(kept_frame(ledger, proof), ledger.read("tram-fog@2"))
    for key, cause in checked.causes.items():
        noted = second.drift["causes"][key]
        assert noted["unit"] == cause.unit
        assert (noted["judged"] is None) == (cause.judged is None)
        if cause.judged is not None:
            assert noted["judged"] == pytest.approx(cause.judged, abs=0.05 * max(1.0, abs(cause.judged)))
    monkeypatch.setattr(Rechecking, "check", None)
    LaterReadings(Ledger.open(ledger.path), edition_of(ledger)).measure()


def test_the_bench_stands_them_at_their_distance(ledger: Ledger) -> None:
    """What the pages measured counts beside the bench's thread of versions, too."""
    assert {version["distance"] for version in versions_json(ledger, "tram-fog")} == {None}
    LaterReadings(ledger, edition_of(ledger)).measure()
    first, second, third = (version["distance"] for version in versions_json(ledger, "tram-fog"))
    assert second > first == third > 0


def test_another_edition_measures_again(ledger: Ledger) -> None:
    """What was measured by other code, or with other likenesses, is not told."""
    LaterReadings(ledger, "1").measure()
    last = ledger.version("tram-fog")
    assert LaterReadings(ledger, "1").found(last, proof_of(ledger)) is not None
    assert LaterReadings(ledger, "2").found(last, proof_of(ledger)) is None


@pytest.mark.parametrize("note", [b"", b"{", b"[]", b"7", b'{"drift": {}}', b'{"drift": {}, "day": "soon"}'])
def test_a_note_that_makes_no_sense_is_none(ledger: Ledger, note: bytes) -> None:
    """It is measured again."""
    later, proof = LaterReadings(ledger, "1"), proof_of(ledger)
    later.measure()
    for path in (ledger.private / "readings").iterdir():
        path.write_bytes(note)
    assert later.found(ledger.version("tram-fog"), proof) is None
    later.measure()
    assert later.found(ledger.version("tram-fog"), proof) is not None


def test_one_that_cannot_be_measured_stops_nothing(ledger: Ledger, monkeypatch: pytest.MonkeyPatch) -> None:
    """A damaged proof leaves its versions unmeasured; other proofs are measured on."""
    add_proofs(ledger, "tram-fog", [open_frame(named("noon-wide"))])
    broken = proof_of_name(ledger, "grey")
    ledger.keep_proof(broken, dict.fromkeys(ledger.read_proof(broken), b"\0"))
    with pytest.raises(FrameError):
        kept_frame(ledger, broken)
    later = LaterReadings(ledger, "1")
    later.measure()
    last = ledger.version("tram-fog")
    found = {proof for proof in ledger.proofs("tram-fog") if later.found(last, proof)}
    assert found == set(ledger.proofs("tram-fog")) - {broken}


def proof_of_name(ledger: Ledger, part: str) -> str:
    """The proof whose frame is called so."""
    return next(p for p in ledger.kept_proofs() if part in kept_frame(ledger, p).path.name)
