"""``driftline correct``."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from PIL import Image

import demo_frames
from driftline.cli.application import run
from driftline.ledger import Ledger
from driftline.recipe import parse_correction

FRAME = demo_frames.named("grey-middle")


@pytest.fixture
def looks(tmp_path: Path) -> Ledger:
    """An empty ledger."""
    return Ledger.create(tmp_path / "looks", {})


def told(looks: Ledger, capsys: pytest.CaptureFixture[str], *words: str) -> dict:
    """The JSON document of one call."""
    assert run(["correct", str(FRAME), *words, "--ledger", str(looks.path), "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_a_correction_is_kept_in_the_ledger_and_grows(
    looks: Ledger, capsys: pytest.CaptureFixture[str]
) -> None:
    """One call sets exposure and turn, the next adds a crop and a dodge and leaves the rest."""
    told(looks, capsys, "--ev", "0.3", "--turn", "0.8")
    second = told(looks, capsys, "--crop", "0.02", "0", "0.98", "0.9", "--dodge", "0.4", "0.6", "0.2", "0.5")
    assert second["frame"] == str(FRAME)
    assert second["correction"]["ev"] == 0.3
    (text,) = looks.path.glob("corrections/*/*.toml")
    kept = parse_correction(text.read_text(), source="kept")
    assert (kept.ev, kept.turn, kept.crop.right, kept.dodge.radius) == (0.3, 0.8, 0.98, 0.2)


def test_clear_takes_it_back(looks: Ledger, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing is left to put right, and no file of it."""
    told(looks, capsys, "--shift", "12")
    told(looks, capsys, "--clear")
    assert list(looks.path.glob("corrections/*/*.toml")) == []


def test_the_jpeg_of_an_exposure_is_not_its_frame(
    looks: Ledger, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A correction that no print would ever have is refused, not kept."""
    jpeg = tmp_path / "quay-01.jpg"
    Image.new("RGB", (640, 480)).save(jpeg)
    assert run(["correct", str(jpeg), "--ev", "0.3", "--ledger", str(looks.path)]) == 2
    assert "error [frame-not-raw]" in capsys.readouterr().err
    assert list(looks.path.glob("corrections/*/*.toml")) == []


def test_out_of_range_is_refused_and_nothing_is_kept(
    looks: Ledger, capsys: pytest.CaptureFixture[str]
) -> None:
    """+9 EV is an error that says what is allowed."""
    assert run(["correct", str(FRAME), "--ev", "9", "--ledger", str(looks.path)]) == 2
    said = capsys.readouterr().err
    assert "allowed -6 to 6" in said
    assert not re.search(r"\bline \d", said)
    assert list(looks.path.glob("corrections/*/*.toml")) == []


def test_too_few_numbers(looks: Ledger, capsys: pytest.CaptureFixture[str]) -> None:
    """A dodge of three numbers: the error sends to the help of this command."""
    assert run(["correct", str(FRAME), "--dodge", "0.4", "0.6", "0.2"]) == 2
    assert "try: driftline correct --help" in capsys.readouterr().err
