"""A softer version in the ledger: saved with its parent, comments kept, measured on the proofs."""

from __future__ import annotations

from pathlib import Path

import pytest

import demo_frames
from drift.level import CHART
from driftline.drift import kept_frames, measure_on, save_measured, temper_version
from driftline.errors import LedgerError, UsageError
from driftline.ledger import Ledger
from driftline.pipeline import open_frame

HARD = """\
name = "hard-noon"

[curve]
slope = 1.50   # for flat light

[grain]
rms_granularity = 6.0   # stays
"""
FRAME = demo_frames.paths()[CHART]


@pytest.fixture
def ledger(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Ledger:
    """A ledger of one recipe that goes too far, without proofs."""
    monkeypatch.setenv("HOME", str(tmp_path))
    return Ledger.create(tmp_path / "looks", {"hard-noon": HARD})


def test_a_softer_version_is_saved_with_its_parent(ledger: Ledger) -> None:
    """Kind, parent, note, comments; its drift is that of the kept proofs and has the verdict."""
    found = temper_version(ledger, "hard-noon", proofs=[open_frame(FRAME)], note="softer")
    saved = found.measured.saved
    version = ledger.version("hard-noon")
    assert (saved.saved, saved.ref, saved.kind, saved.parents) == (
        True, "hard-noon@2", "temper", ("hard-noon@1",),
    )  # fmt: skip
    assert (version.kind, version.parents, version.note) == ("temper", ("hard-noon@1",), "softer")
    assert [(edge.parent, edge.child, edge.kind) for edge in ledger.lineage().edges] == [
        ("hard-noon@1", "hard-noon@2", "temper")
    ]
    text = ledger.text("hard-noon@2")
    assert "# for flat light" in text
    assert "rms_granularity = 6.0   # stays" in text
    assert 1.0 < ledger.read("hard-noon@2").curve.slope < 1.5
    assert saved.changes == found.tempered.changes
    frames, problems = kept_frames(ledger, "hard-noon")
    again = measure_on(frames, ledger.read("hard-noon@2"), bands=ledger.settings().bands)
    assert (problems, again["verdict"]) == ([], "in keeping")
    assert version.drift == found.measured.drift == again
    fine = temper_version(ledger, "hard-noon")
    assert (fine.measured.saved.saved, fine.measured.saved.ref) == (False, "hard-noon@2")
    assert fine.measured.drift == again
    assert len(ledger.versions()) == 2


def test_an_old_version_can_be_tempered(ledger: Ledger) -> None:
    """The parent is the version named, not the last."""
    save_measured(ledger, "hard-noon", HARD.replace("1.50", "1.02"), proofs=[open_frame(FRAME)])
    saved = temper_version(ledger, "hard-noon@1").measured.saved
    assert (saved.ref, saved.parents) == ("hard-noon@3", ("hard-noon@1",))


def test_an_unsaved_edit_is_kept(ledger: Ledger) -> None:
    """A hand edit is never written over, and nothing is measured before that is known."""
    path = ledger.path / "recipes" / "hard-noon.toml"
    path.write_text(HARD.replace("1.50", "1.60"))
    with pytest.raises(LedgerError) as caught:
        temper_version(ledger, "hard-noon", proofs=[open_frame(FRAME)])
    assert caught.value.code == "unsaved-edit"
    assert "1.60" in path.read_text()
    assert ledger.proofs("hard-noon") == ()


def test_without_proofs_there_is_nothing_to_go_by(ledger: Ledger) -> None:
    """It is said what to give."""
    with pytest.raises(UsageError, match="hard-noon has no proofs") as caught:
        temper_version(ledger, "hard-noon")
    assert "--proof FRAME" in caught.value.hint


def test_out_of_reach_is_said_and_nothing_is_saved(ledger: Ledger) -> None:
    """Where black and white alone is too far: what still stands out, where, and what is left alone."""
    text = HARD + '\n[mono]\nfilter = "blue"\n'
    save_measured(ledger, "hard-noon", text, proofs=[open_frame(FRAME)])
    ledger.save_settings("[bands]\nexposure = { notice = 0.001, over = 0.002 }\n")
    with pytest.raises(UsageError) as caught:
        temper_version(ledger, "hard-noon", verdict="leaning")
    message = caught.value.message
    assert caught.value.code == "temper-out-of-reach"
    assert message.startswith(
        f"hard-noon@2: leaning is out of reach: at strength 0 {FRAME.name} is still overdone"
    )
    assert "what tempering leaves alone: " in message
    assert "blue" in message
    assert len(ledger.versions()) == 2
