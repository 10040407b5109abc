"""``check``: drift of a recipe on frames."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

import demo_frames
from batch.shoot import write_frame
from cli.conftest import QUAY, Cli
from driftline.ledger import Ledger

CAUSES = (
    "exposure", "contrast", "white", "duv", "chroma", "hue", "hue_skin", "hue_foliage", "hue_sky",
    "split_tint", "clip_low", "clip_high", "detail_fine", "detail_middling", "detail_broad", "residual",
)  # fmt: skip
KEYS = {"floor", "edit", "total", "judged", "unit", "verdict", "comparable", "reason"}
BAD = [
    "all-zero-no-error.dng",
    "head-only.cr3",
    "sensor-cut-jpeg-whole.arw",
    "stub.cr2",
    "unsupported-codec.gpr",
]


@pytest.fixture
def dusk(home: Path) -> Path:
    """A recipe file: a third of a stop darker, warmer."""
    path = home / "dusk.toml"
    path.write_text("[exposure]\nev = -0.5\n[white]\nshift = 30.0\n")
    return path


def test_the_document_holds_every_cause(cli: Cli, dusk: Path) -> None:
    """Each cause of the contract with its numbers; what cannot be compared has nulls and a reason."""
    frame = demo_frames.named("night-wide")
    told = cli("check", frame, "--recipe", dusk, "--json")
    (one,) = told.json["frames"]
    assert (told.status, one["path"], one["error"]) == (0, str(frame), None)
    assert tuple(one["causes"]) == CAUSES
    for cause in one["causes"].values():
        assert cause.keys() >= KEYS
        numbers = [cause[column] for column in ("floor", "edit", "total")]
        assert cause["comparable"] == all(isinstance(number, float) for number in numbers)
        assert cause["comparable"] or (numbers == [None] * 3 and cause["reason"])
    assert one["causes"]["exposure"]["edit"] < -0.2
    assert one["causes"]["white"]["edit"] > 10
    assert one["verdict"] in ("leaning", "overdone")
    assert one["largest"] in CAUSES


def test_text_begins_with_the_verdict_and_is_aligned(cli: Cli, dusk: Path) -> None:
    """The frame, the recipe and the verdict first; then words; then the table, columns in line."""
    frame = demo_frames.named("night-wide")
    told = cli("check", frame, "--recipe", dusk)
    lines = told.out.splitlines()
    assert re.fullmatch(rf"{frame.name} with dusk.toml: (leaning|overdone)", lines[0])
    head = next(line for line in lines if line.split() == ["floor", "edit", "total", "judged"])
    exposure = next(line for line in lines if re.match(r"  exposure +[-+0]", line))
    numbers = re.match(r"  exposure +\S+ +\S+ +\S+ +\S+", exposure)
    assert numbers
    assert len(head) == numbers.end()


def test_no_camera_rendering_is_a_result(cli: Cli, dusk: Path, home: Path) -> None:
    """Without one nothing is compared, it is said why, and the status is 0."""
    frame = write_frame(home / "alone.dng", rendering=False)
    told = cli("check", frame, "--recipe", dusk, "--json")
    (one,) = told.json["frames"]
    assert (told.status, one["verdict"], one["largest"]) == (0, "not judged", None)
    assert {cause["edit"] for cause in one["causes"].values()} == {None}
    assert all("no camera rendering" in cause["reason"] for cause in one["causes"].values())
    said = cli("check", frame, "--recipe", dusk)
    assert said.out.count("no camera rendering") == 1


def test_one_bad_frame_does_not_stop_the_others(cli: Cli, dusk: Path, home: Path) -> None:
    """Good frames are measured, the missing and the broken one listed, status 1."""
    good = write_frame(home / "good.dng", 1)
    (home / "text.dng").write_text("not a picture")
    told = cli("check", good, "text.dng", "gone.dng", "--recipe", dusk, "--json")
    codes = [one["error"]["code"] if one["error"] else None for one in told.json["frames"]]
    assert (told.status, codes[0], codes[2]) == (1, None, "frame-missing")
    assert codes[1].startswith("frame-")
    said = cli("check", good, "text.dng", "gone.dng", "--recipe", dusk)
    assert (said.status, said.err.count("error [frame-"), "good.dng with" in said.out) == (1, 2, True)


@pytest.mark.parametrize("name", BAD)
def test_a_real_bad_file_gives_its_own_error(name: str, raws: Path, cli: Cli, dusk: Path) -> None:
    """Each real broken file: one error in words with the next step, status 1, nothing on standard output."""
    told = cli("check", raws / "bad" / name, "--recipe", dusk)
    assert (told.status, told.out) == (1, "")
    first, second = told.err.splitlines()
    assert re.match(rf"error \[frame-[a-z-]+\] .*{re.escape(name)}: \w", first)
    assert second.startswith("  try: ")


def test_the_working_file_is_checked_and_said(
    cli: Cli, looks: Path, edit: Callable[[str, str], None]
) -> None:
    """Of a bare name the edited file counts; the remark stays off standard output."""
    edit("quay-night", QUAY.replace("1.2", "1.9"))
    told = cli("check", "noon.dng", "--recipe", "quay-night", "--ledger", looks, "--json")
    saved = cli("check", "noon.dng", "--recipe", "quay-night@1", "--ledger", looks, "--json")
    assert told.json["recipe"] == "quay-night (working file)"
    assert "the working file is used" in told.err
    assert saved.err == ""
    assert told.json["frames"] != saved.json["frames"]


def test_the_map_is_a_picture_and_overwrites_nothing(cli: Cli, dusk: Path, home: Path) -> None:
    """``--map`` writes a PNG; a file that stands there stays; several frames are refused."""
    frame = demo_frames.named("night-wide")
    assert cli("check", frame, "--recipe", dusk, "--map", "map.png").status == 0
    with Image.open(home / "map.png") as picture:
        assert picture.format == "PNG"
        assert np.asarray(picture).std() > 5
    before = (home / "map.png").read_bytes()
    assert cli("check", frame, "--recipe", dusk, "--map", "map.png").status == 2
    assert (home / "map.png").read_bytes() == before
    assert "map-of-many" in cli("check", frame, frame.parent, "--recipe", dusk, "--map", "m.png").err
    assert cli("check", frame, "--recipe", dusk, "--map", "none/m.png").status == 2


def test_a_folder_without_frames_is_an_error(cli: Cli, dusk: Path, home: Path) -> None:
    """An empty folder is told as such: nothing was done."""
    (home / "empty").mkdir()
    told = cli("check", "empty", "--recipe", dusk)
    assert (told.status, told.err.splitlines()[0]) == (2, "error [no-frames] no raw files in empty")


def test_an_edit_stands_beside_the_photographers_own_past(cli: Cli, home: Path) -> None:
    """With a ledger the document has each cause's place among its versions, and the text what is rare."""
    ledger = Ledger.create(home / "past", {"dusk": "[white]\nshift = 2.0\n"})
    for n in range(11):
        causes = {"white": {"edit": 0.2 * n}}
        ledger.save("dusk", f"[white]\nshift = {0.2 * (n + 1):.1f}\n", drift={"causes": causes})
    (home / "past/recipes/dusk.toml").write_text("[white]\nshift = 25.0\n")
    frame = demo_frames.named("shade-middle")
    told = cli("check", frame, "--recipe", "dusk", "--ledger", "past", "--json")
    (one,) = told.json["frames"]
    assert one["past"]["white"] == {"ledger": {"less": 11, "of": 11}, "recipe": {"less": 11, "of": 11}}
    assert one["past"]["hue"] == {"ledger": None, "recipe": None}
    said = cli("check", frame, "--recipe", "dusk", "--ledger", "past")
    assert re.search(r"^  white \+\d+ mired, more than 11 of your last 11 versions$", said.out, re.MULTILINE)


def test_without_a_ledger_there_is_no_past(cli: Cli, dusk: Path) -> None:
    """A recipe file outside any ledger is measured all the same."""
    told = cli("check", demo_frames.named("shade-middle"), "--recipe", dusk, "--json")
    assert told.json["frames"][0]["past"] is None
