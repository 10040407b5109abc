"""What the page asks for and has done: pictures, drift, shares, versions, saves."""

from __future__ import annotations

import io
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from driftline.drift import bands_from, check_frame, frame_in, render, shares
from driftline.ledger import Ledger
from driftline.pages.bench.desk import Desk
from driftline.pages.bench.guards import Guard
from driftline.pages.bench.routes import Bench
from driftline.recipe import Recipe, parameters, parse_recipe
from pages.bench.asking import PORT, TOKEN, Asking

STRONG = "[curve]\nslope = 1.6\n\n[chroma]\nscale = 1.5\n"


def pixels(content: bytes) -> Any:
    """A picture as numbers, 0 … 255."""
    return np.asarray(Image.open(io.BytesIO(content)).convert("RGB"), dtype=np.float64)


def values(recipe: Recipe) -> dict[str, Any]:
    """As the page sends them."""
    return parameters(recipe)


def git(looks: Path, *words: str) -> str:
    """Plain git."""
    return subprocess.run(["git", "-C", looks, *words], capture_output=True, text=True, check=True).stdout


def test_the_picture_is_what_a_print_would_be(asking: Asking, frames: list[Path], looks: Path) -> None:
    """Pixels of the page beside those of ``render`` at the same size: within what JPEG does to them."""
    recipe = parse_recipe(STRONG, source="a test")
    answer = asking.post("pixels", place=0, values=values(recipe))
    assert answer.headers["content-type"] == "image/jpeg"
    shown = pixels(answer.content)
    whole = render(frame_in(Ledger.open(looks), frames[0]), recipe, long_edge=1500, depth=8)
    assert shown.shape == whole.shape
    assert np.abs(shown - whole).mean() < 2.5


def test_drift_and_shares_are_those_of_the_commands(asking: Asking, frames: list[Path], looks: Path) -> None:
    """Edit, judged amount, verdict and bands as ``check`` has them; the shares add up as they do there."""
    recipe, frame = parse_recipe(STRONG, source="a test"), frame_in(Ledger.open(looks), frames[0])
    checked = check_frame(frame, recipe)
    found = asking.post("drift", place=0, values=values(recipe)).json
    assert found["verdict"] == checked.verdict
    for cause in found["causes"]:
        real = checked.causes[cause["key"]]
        limits = bands_from()[cause["key"]].limits(1.0)
        assert cause["verdict"] == real.verdict
        assert cause["bands"][:2] == list(limits)
        if real.edit is not None:
            assert cause["edit"] == pytest.approx(real.edit, abs=0.2)
    told = asking.post("shares", place=0, values=values(recipe)).json
    parts = shares(frame, recipe).distance
    assert told["distance"] == pytest.approx(parts.total, rel=0.1)
    assert sum(told["sections"].values()) + told["together"] == pytest.approx(told["distance"])
    assert max(told["sections"], key=told["sections"].get) == max(
        parts.parts, key=lambda name: parts.parts[name].share
    )
    assert told["said"]


def test_what_nobody_waits_for_is_not_made(asking: Asking, desk: Desk) -> None:
    """Work that was announced after newer work for the same place gives nothing."""
    check = desk.newest("pixels", "w.0", 10_000)
    check()
    late = asking.post("pixels", place=0, values=values(Recipe()), who="w.0")
    assert (late.status, late.content) == (204, b"")
    assert asking.post("pixels", place=0, values=values(Recipe()), who="w.1").status == 200


def test_the_camera_rendering_is_upright_and_of_the_same_shape(asking: Asking) -> None:
    """It can stand in the picture's place."""
    camera = pixels(asking.get("camera/0").content)
    edit = pixels(asking.post("pixels", place=0, values=values(Recipe())).content)
    assert camera.shape[0] > camera.shape[1]
    assert camera.shape[0] / camera.shape[1] == pytest.approx(edit.shape[0] / edit.shape[1], rel=0.03)
    small = [
        np.asarray(Image.fromarray(one.astype(np.uint8)).resize((60, 90)).convert("L"))
        for one in (camera, edit)
    ]
    assert np.corrcoef(*(one.ravel() for one in small))[0, 1] > 0.95


def test_versions_stand_at_their_distance(asking: Asking) -> None:
    """Oldest first, with what was measured, said in words; and each parameter's way through them."""
    found = asking.get("past").json["versions"]
    assert [version["ref"] for version in found] == [f"tram-fog@{n}" for n in (1, 2, 3)]
    assert found[0]["distance"] is None
    assert found[1]["distance"] > found[2]["distance"] > 0
    assert found[1]["note"] == "firmer"
    ways = asking.get("ways").json
    assert ways["versions"] == 3
    assert ways["ways"]["curve.slope"] == [[0, 1.1], [1, 1.2], [2, 1.15]]
    assert ways["ways"]["exposure.ev"] == [[0, 0.2], [1, 0.3]]
    assert "chroma.scale" not in ways["ways"]


def test_a_save_is_a_commit(asking: Asking, looks: Path) -> None:
    """The next version with its note and its drift, in plain git; then nothing is unsaved."""
    asking.change({"curve.slope": 1.25})
    assert asking.state()["unsaved"]
    assert asking.state()["changed"] == ["contrast 1.15 → 1.25"]
    done = asking.post("save", note="for the rain", keep=False).json
    assert (done["done"]["ref"], done["unsaved"], done["last"]) == ("tram-fog@4", False, "tram-fog@4")
    assert "for the rain" in git(looks, "log", "-1", "--format=%B")
    assert "slope = 1.25" in git(looks, "show", "HEAD:recipes/tram-fog.toml")
    assert git(looks, "status", "--porcelain") == ""
    asking.post("undo")
    assert asking.state()["changed"] == ["contrast 1.25 → 1.15"]


def test_frames_become_proofs_when_asked(asking: Asking, looks: Path) -> None:
    """A save with ``keep`` measures on the frames of the bench from then on."""
    asking.post("open", recipe="quay-night")
    asking.change({"curve.slope": 1.3})
    done = asking.post("save", note="", keep=True).json
    assert done["done"]["saved"]
    assert done["judged_by"] == 2
    assert asking.get("past").json["versions"][-1]["distance"] is not None


def test_a_fork_takes_the_unsaved_edit_along(asking: Asking, looks: Path) -> None:
    """It becomes the new recipe's first version with its parent; in the old one's file it stays, unsaved."""
    asking.change({"curve.slope": 1.4})
    done = asking.post("fork", new="tram-late", note="lamps").json
    assert (done["recipe"], done["done"]["ref"], done["unsaved"]) == ("tram-late", "tram-late@1", False)
    ledger = Ledger.open(looks)
    assert ledger.version("tram-late").parents == ("tram-fog@3",)
    assert ledger.read("tram-late").curve.slope == 1.4
    assert "# a fifth of a stop" in ledger.text("tram-late")
    assert ledger.working_differs("tram-fog")
    assert asking.post("fork", new="tram-fog", note="").json["problem"]["code"] == "recipe-exists"


def test_restoring_is_refused_while_an_edit_is_not_saved(asking: Asking) -> None:
    """Nothing is lost: first save or undo, then an old version becomes the newest."""
    asking.change({"curve.slope": 1.4})
    assert asking.post("restore", ref="tram-fog@1", note="").json["problem"]["code"] == "unsaved-edit"
    asking.post("undo")
    done = asking.post("restore", ref="tram-fog@1", note="the first was best").json
    assert done["done"]["ref"] == "tram-fog@4"
    assert done["values"]["curve.slope"] == 1.1


def test_a_softer_one_is_seen_before_it_is_taken(asking: Asking, looks: Path) -> None:
    """Looking changes nothing; taking is an edit, and its save a tempered version of the last one."""
    asking.change({"curve.slope": 1.3, "chroma.scale": 1.4})
    before = asking.state()
    found = asking.post("softer", values=before["values"], verdict="in keeping", along="all").json
    assert found["reached"]
    assert found["after"]["verdict"] == "in keeping"
    assert asking.state() == before
    taken = asking.post("take-softer", values=found["values"], seen=before["revision"]).json
    assert taken["values"]["curve.slope"] == found["values"]["curve.slope"] < 1.3
    done = asking.post("save", note="", keep=False).json
    version = Ledger.open(looks).version(done["done"]["ref"])
    assert (version.kind, version.parents) == ("temper", ("tram-fog@3",))


def test_any_two_versions_are_compared(asking: Asking) -> None:
    """In words and in drift; a version beside itself differs in nothing."""
    found = asking.post("compare", a="tram-fog@1", b="tram-fog@2", place=0).json
    assert found["words"] == ["exposure +0.20 → +0.30 EV", "contrast 1.10 → 1.20"]
    assert any(line.startswith(("exposure", "contrast")) for line in found["drift"])
    same = asking.post("compare", a="tram-fog@2", b="tram-fog@2", place=0).json
    assert (same["words"], same["drift"], same["distance"]) == ([], [], 0.0)
    changed = asking.change({"curve.slope": 1.5})
    assert changed.status == 200
    assert asking.post("compare", a="tram-fog@3", b="now", place=1).json["words"] == ["contrast 1.15 → 1.50"]


def test_a_broken_frame_costs_itself_alone(looks: Path, frames: list[Path], tmp_path: Path) -> None:
    """It says what is wrong with it wherever it is asked for; the other one, and temper, work."""
    broken = tmp_path / "broken.dng"
    broken.write_bytes(frames[0].read_bytes()[:5000])
    desk = Desk(Ledger.open(looks), [broken, frames[1]], "tram-fog")
    asking = Asking(Guard(Bench(desk).application(), token=TOKEN, port=PORT))
    for answer in (
        asking.post("pixels", place=0, values=values(Recipe())),
        asking.post("drift", place=0, values=values(Recipe())),
        asking.get("camera/0"),
    ):
        assert answer.status == 409
        assert "broken.dng" in answer.json["problem"]["message"]
    assert asking.post("pixels", place=1, values=values(Recipe())).status == 200
    found = asking.post("softer", values=values(Recipe()), verdict="in keeping", along="all").json
    assert found["already"]
    asking.close()
    desk.close()


def test_another_program_saves_meanwhile(asking: Asking, desk: Desk, looks: Path) -> None:
    """A version saved from the command line is the last one here soon after; nothing is said twice."""
    known = asking.state()["known"]
    assert asking.get(f"state?known={known}").status == 204
    ledger = Ledger.open(looks)
    text = ledger.working_text("tram-fog").replace("1.15", "1.18")
    ledger.save("tram-fog", text, note="from the shell")
    found = asking.get(f"state?known={known}").json
    assert found["values"]["curve.slope"] == 1.18


def test_a_version_to_begin_with_hangs_beside(looks: Path, frames: list[Path]) -> None:
    """``NAME@1``: the recipe is edited as it stands, and the page is told what to hang beside it."""
    desk = Desk(Ledger.open(looks), frames, "tram-fog@1")
    asking = Asking(Guard(Bench(desk).application(), token=TOKEN, port=PORT))
    now = asking.state()
    assert (now["recipe"], now["beside"], now["values"]["curve.slope"]) == ("tram-fog", "tram-fog@1", 1.15)
    asking.close()
    desk.close()


def test_the_photographers_own_past_is_told(looks: Path, frames: list[Path]) -> None:
    """With enough versions an edit that goes further than nearly all of them is said to."""
    ledger = Ledger.open(looks)
    causes = {"contrast": {"floor": 0.0, "edit": 0.02, "total": 0.02, "judged": 0.02, "unit": "log2"}}
    for n in range(12):
        text = f"curve.slope = {1.01 + n / 1000}\n"
        ledger.save("quay-night", text, drift={"verdict": "in keeping", "causes": causes}, proofs=["ab" * 32])
    desk = Desk(ledger, frames[:1], "quay-night")
    asking = Asking(Guard(Bench(desk).application(), token=TOKEN, port=PORT))
    strong = parse_recipe("curve.slope = 1.5\n", source="a test")
    found = asking.post("drift", place=0, values=values(strong)).json
    assert any("contrast" in line and "last 1" in line for line in found["past"])
    asking.close()
    desk.close()


def test_a_recipe_that_is_not_saved_yet(looks: Path, frames: list[Path]) -> None:
    """A file written by hand is edited and saved like any other; until then it has no past."""
    (looks / "recipes" / "new-look.toml").write_text("curve.slope = 1.1  # a try\n")
    desk = Desk(Ledger.open(looks), frames[:1], "new-look")
    asking = Asking(Guard(Bench(desk).application(), token=TOKEN, port=PORT))
    now = asking.state()
    assert (now["last"], now["unsaved"], now["values"]["curve.slope"]) == (None, True, 1.1)
    assert asking.get("past").json["versions"] == []
    assert asking.get("ways").json["ways"] == {}
    assert asking.change({"curve.slope": 1.2}).status == 200
    done = asking.post("save", note="", keep=False).json
    assert done["done"]["ref"] == "new-look@1"
    assert Ledger.open(looks).text("new-look") == "curve.slope = 1.2  # a try\n"
    asking.close()
    desk.close()


def test_a_file_outside_the_ledger_is_taken_in_by_a_save(
    looks: Path, frames: list[Path], tmp_path: Path
) -> None:
    """Edited where it lies; a save makes a recipe of it, with its comments, and the file stays as it is."""
    file = tmp_path / "From a Friend.toml"
    file.write_text("curve.slope = 1.1  # softer than mine\n")
    desk = Desk(Ledger.open(looks), frames[:1], str(file))
    asking = Asking(Guard(Bench(desk).application(), token=TOKEN, port=PORT))
    now = asking.state()
    assert (now["recipe"], now["last"], now["unsaved"]) == (file.name, None, True)
    assert now["from"] == {"file": str(file), "name": "from-a-friend"}
    assert (asking.get("past").json["versions"], asking.get("ways").json["ways"]) == ([], {})
    asking.change({"curve.slope": 1.25})
    assert file.read_text() == "curve.slope = 1.25  # softer than mine\n"
    taken = asking.post("take-softer", values=values(parse_recipe("curve.slope = 1.2", source="x")), seen=9)
    assert taken.status == 200
    for name, code in (("tram-fog", "recipe-exists"), ("../x", "bad-name")):
        assert asking.post("take-in", new=name, note="", keep=False).json["problem"]["code"] == code
    done = asking.post("take-in", new="from-a-friend", note="given", keep=True).json
    assert (done["recipe"], done["done"]["ref"], done["judged_by"]) == ("from-a-friend", "from-a-friend@1", 1)
    assert done["from"] is None
    assert "slope = 1.2  # softer than mine" in Ledger.open(looks).text("from-a-friend")
    asking.change({"curve.slope": 1.3})
    assert file.read_text() == "curve.slope = 1.2  # softer than mine\n"
    assert asking.post("open", recipe=file.name).json["values"]["curve.slope"] == 1.2
    assert asking.post("open", recipe=str(file)).json["problem"]["code"] == "bad-name"
    asking.close()
    desk.close()
