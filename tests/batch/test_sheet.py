"""Contact sheets of a shoot and of a recipe's versions."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from batch.shoot import write_frame, write_shoot
from driftline.batch.sheet import sheet_of_frames, sheet_of_versions
from driftline.errors import UsageError
from driftline.ledger import Ledger
from driftline.pipeline import keep, open_frame
from driftline.prints.sheet import GROUND, Cell, contact_sheet


def pictures_on(path: Path) -> int:
    """How many columns of pictures stand in the middle of the first row."""
    with Image.open(path) as image:
        sheet = np.asarray(image.convert("RGB")).astype(int)
    covered = (np.abs(sheet - GROUND).max(axis=-1) > 8).mean(axis=0) > 0.05
    return int(np.count_nonzero(np.diff(covered.astype(int)) == 1))


def test_a_shoot_with_a_bad_frame(tmp_path: Path) -> None:
    """Every frame has its place, the bad one too, and it is named with its reason."""
    frames = write_shoot(tmp_path / "shoot", 2)
    frames[0].write_bytes(b"not a frame")
    bad = sheet_of_frames([tmp_path / "shoot"], tmp_path / "sheet.png", workers=1)
    assert [(one.frame, one.code) for one in bad] == [(str(frames[0]), "frame-not-raw")]
    assert bad[0].reason.startswith(str(frames[0]))
    assert (tmp_path / "sheet.png").stat().st_size > 1000


def test_captions_tell_cards_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two cards with one numbering: each picture says which card its frame is from."""
    for card in "ab":
        write_shoot(tmp_path / "shoot" / card, 1)
    captions = []

    def drawn(cells: list[Cell], **how: Any) -> Any:
        captions.extend(cell.caption[0] for cell in cells)
        return contact_sheet(cells, **how)

    monkeypatch.setattr("driftline.batch.sheet.contact_sheet", drawn)
    sheet_of_frames([tmp_path / "shoot"], tmp_path / "sheet.png", workers=1)
    assert captions == ["a/quay-01.dng", "b/quay-01.dng"]


def test_a_recipe_shows_on_the_sheet(tmp_path: Path) -> None:
    """The same frame, plain and two stops up: another picture."""
    frame = write_frame(tmp_path / "a.dng", 3, height=240, width=360)
    for name, text in (("plain", None), ("bright", "[exposure]\nev = 2.0\n")):
        assert sheet_of_frames([frame], tmp_path / f"{name}.png", recipe_text=text, workers=1) == []
    brightness = []
    for name in ("plain", "bright"):
        with Image.open(tmp_path / f"{name}.png") as image:
            brightness.append(np.asarray(image).mean())
    assert brightness[1] > brightness[0] + 5


def test_versions_stand_side_by_side(tmp_path: Path) -> None:
    """Three versions of a recipe on its one proof: three pictures in a row, from what the ledger keeps."""
    ledger = Ledger.create(tmp_path / "looks", {"dusk": "[exposure]\nev = 0.0\n"})
    frame = open_frame(write_frame(tmp_path / "a.dng", 3, height=96, width=128))
    ledger.keep_proof(frame.fingerprint(), keep(frame), name="a.dng")
    ledger.set_proofs("dusk", [frame.fingerprint()])
    for ev in (0.5, 1.0):
        ledger.save("dusk", f"[exposure]\nev = {ev}\n")
    frame.path.unlink()
    assert sheet_of_versions(ledger, "dusk", tmp_path / "sheet.png") == 3
    assert pictures_on(tmp_path / "sheet.png") == 3


def test_versions_without_a_proof_cannot_be_shown(tmp_path: Path) -> None:
    """The error says how to choose one."""
    ledger = Ledger.create(tmp_path / "looks", {"dusk": "[exposure]\nev = 0.5\n"})
    with pytest.raises(UsageError, match="no kept proofs") as caught:
        sheet_of_versions(ledger, "dusk", tmp_path / "sheet.png")
    assert caught.value.code == "no-proofs"
