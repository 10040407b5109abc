"""One recipe under edit: undo and redo, windows, and agreement with the file on the disk."""

from __future__ import annotations

from pathlib import Path

import pytest

from driftline.errors import DriftlineError, LedgerError, RecipeError
from driftline.ledger import Ledger
from driftline.pages.bench.draft import OutsideFile, WorkingFile, draft_of
from driftline.pages.bench.edit import Edit
from driftline.recipe import parse_recipe

HERE, THERE = "here", "there"


@pytest.fixture
def edit(looks: Path) -> Edit:
    """``tram-fog`` as it was saved last: slope 1.15, exposure 0.30."""
    return Edit(WorkingFile(Ledger.open(looks), "tram-fog"))


def file_of(looks: Path) -> Path:
    """Its working file."""
    return looks / "recipes" / "tram-fog.toml"


def put(edit: Edit, path: str, value: object, *, window: str = HERE, gesture: str = "") -> object:
    """Change one parameter as a window does that has seen everything."""
    return edit.change({path: value}, seen=edit.revision, window=window, gesture=gesture)


def test_a_change_is_in_the_file_with_comments_kept(edit: Edit, looks: Path) -> None:
    """The file says what the page says; a comment stays where it was, and so does everything else."""
    before = file_of(looks).read_text()
    put(edit, "exposure.ev", 0.45)
    after = file_of(looks).read_text()
    assert after == before.replace("ev = 0.30", "ev = 0.45")
    assert "# a fifth of a stop" in after
    assert edit.recipe == parse_recipe(after, source="the file")


def test_going_back_to_what_was_saved_leaves_the_saved_text(edit: Edit, looks: Path) -> None:
    """No trace of an edit that was taken back by hand: nothing is unsaved then."""
    before = file_of(looks).read_bytes()
    put(edit, "curve.slope", 1.3)
    put(edit, "mono.filter", "red")
    put(edit, "mono.filter", None)
    put(edit, "curve.slope", 1.15)
    assert file_of(looks).read_bytes() == before
    assert not Ledger.open(looks).working_differs("tram-fog")


def test_undo_and_redo(edit: Edit, looks: Path) -> None:
    """Steps are gone back and forth one by one, in the file as well; a new step ends what could be redone."""
    for slope in (1.2, 1.3, 1.4):
        put(edit, "curve.slope", slope)
    edit.undo(HERE)
    edit.undo(HERE)
    assert edit.values["curve.slope"] == 1.2
    assert "slope = 1.2" in file_of(looks).read_text()
    edit.redo(HERE)
    assert edit.values["curve.slope"] == 1.3
    put(edit, "exposure.ev", 0.1)
    edit.redo(HERE)
    assert (edit.values["curve.slope"], edit.values["exposure.ev"]) == (1.3, 0.1)
    for _ in range(9):
        edit.undo(HERE)
    assert edit.values["curve.slope"] == 1.15


def test_one_gesture_is_one_step(edit: Edit) -> None:
    """A point that was dragged over many values goes back to where it was before."""
    for slope in (1.2, 1.21, 1.22, 1.23):
        put(edit, "curve.slope", slope, gesture="drag 1")
    edit.undo(HERE)
    assert edit.values["curve.slope"] == 1.15


def test_a_band_is_put_in_and_taken_out(edit: Edit, looks: Path) -> None:
    """A band comes with its place, and goes with all that belongs to it."""
    edit.change({"chroma.band.sky.hue": 250, "chroma.band.sky.width": 50}, seen=0, window=HERE, gesture="")
    assert "[chroma.band.sky]" in file_of(looks).read_text()
    edit.change(
        dict.fromkeys([path for path in edit.values if path.startswith("chroma.band.brick.")]),
        seen=edit.revision,
        window=HERE,
    )
    assert set(edit.recipe.chroma.band) == {"sky"}
    assert "brick" not in file_of(looks).read_text()


@pytest.mark.parametrize(
    ("path", "value"),
    [("curve.slope", 9.0), ("curve.slope", "steep"), ("curve.sloppe", 1.0), ("mono.filter", "pink"),
     ("chroma.band.Not A Name.hue", 10.0), ("mono.weights", [1.0, 1.0, 1.0]), ("curve.slope", float("nan"))],
)  # fmt: skip
def test_what_is_not_allowed_changes_nothing(edit: Edit, looks: Path, path: str, value: object) -> None:
    """A value out of range, of the wrong kind, or for no parameter is refused in words."""
    before = file_of(looks).read_bytes(), dict(edit.values)
    with pytest.raises(RecipeError):
        put(edit, path, value)
    assert (file_of(looks).read_bytes(), edit.values) == before


def test_an_edit_in_a_text_editor_shows_up(edit: Edit, looks: Path) -> None:
    """What was written there is what stands here, comments and all, and can be undone."""
    text = file_of(looks).read_text()
    file_of(looks).write_text(text.replace("slope = 1.15", "slope = 1.40  # by hand"))
    edit.look()
    assert edit.values["curve.slope"] == 1.40
    put(edit, "exposure.ev", 0.5)
    assert "slope = 1.40  # by hand" in file_of(looks).read_text()
    edit.undo(HERE)
    edit.undo(HERE)
    assert edit.values["curve.slope"] == 1.15


def test_both_changed_different_things(edit: Edit, looks: Path) -> None:
    """An editor's change and the page's are both kept when they are of different parameters."""
    seen = edit.revision
    text = file_of(looks).read_text()
    file_of(looks).write_text(text.replace("slope = 1.15", "slope = 1.40"))
    assert edit.change({"exposure.ev": 0.5}, seen=seen, window=HERE) == ()
    found = parse_recipe(file_of(looks).read_text(), source="the file")
    assert (found.curve.slope, found.exposure.ev) == (1.40, 0.5)


def test_a_clash_with_the_file_is_shown_and_not_overwritten(edit: Edit, looks: Path) -> None:
    """Both changed the same parameter: what stands in the file stays, until somebody decides."""
    seen = edit.revision
    file_of(looks).write_text(file_of(looks).read_text().replace("slope = 1.15", "slope = 1.40"))
    (clash,) = edit.change({"curve.slope": 1.2}, seen=seen, window=HERE)
    assert clash.json() == {"path": "curve.slope", "asked": 1.2, "stands": 1.4, "whose": "the file"}
    assert "slope = 1.40" in file_of(looks).read_text()
    assert put(edit, "curve.slope", 1.2) == ()
    assert "slope = 1.2" in file_of(looks).read_text()


def test_a_clash_of_two_windows(edit: Edit) -> None:
    """The second window to change a parameter is told what the first one made of it."""
    seen = edit.revision
    put(edit, "curve.slope", 1.3, window=THERE)
    (clash,) = edit.change({"curve.slope": 1.2, "exposure.ev": 0.6}, seen=seen, window=HERE)
    assert (clash.whose, clash.stands) == ("another window", 1.3)
    assert (edit.values["curve.slope"], edit.values["exposure.ev"]) == (1.3, 0.6)


@pytest.mark.parametrize(
    "content", [b"[curve\nslope = 2", b"[curve]\nslope = 9.0\n", b"\xff\xfe\x00", b"x" * 70_000]
)
def test_a_file_that_cannot_be_read_is_left_alone(edit: Edit, looks: Path, content: bytes) -> None:
    """The page keeps what it showed and says why; nothing is written until somebody asks for just that."""
    file_of(looks).write_bytes(content)
    edit.look()
    assert edit.problem is not None
    assert edit.json()["problem"]["message"]
    with pytest.raises(DriftlineError):
        put(edit, "curve.slope", 1.3)
    with pytest.raises(DriftlineError):
        edit.undo(HERE)
    assert file_of(looks).read_bytes() == content
    assert edit.values["curve.slope"] == 1.15
    file_of(looks).write_text("curve.slope = 1.33\n")
    edit.look()
    assert edit.problem is None
    assert edit.values["curve.slope"] == 1.33


def test_writing_over_what_cannot_be_read_is_a_step_of_its_own(edit: Edit, looks: Path) -> None:
    """Only then is the file replaced, by what the page shows."""
    put(edit, "curve.slope", 1.3)
    file_of(looks).write_text("[curve\n")
    edit.look()
    edit.write_over(HERE)
    assert edit.problem is None
    assert parse_recipe(file_of(looks).read_text(), source="the file") == edit.recipe


def test_a_file_that_is_gone(edit: Edit, looks: Path) -> None:
    """It is said, and written again on demand."""
    file_of(looks).unlink()
    edit.look()
    assert isinstance(edit.problem, LedgerError)
    edit.write_over(HERE)
    assert file_of(looks).exists()


def test_an_edit_survives_a_restart(edit: Edit, looks: Path) -> None:
    """Whoever opens the recipe next finds the edit, unsaved, where it was."""
    put(edit, "curve.slope", 1.27)
    again = Edit(WorkingFile(Ledger.open(looks), "tram-fog"))
    assert again.values == edit.values
    assert Ledger.open(looks).working_differs("tram-fog")


def restarted(looks: Path) -> Edit:
    """The recipe, opened by another program."""
    return Edit(WorkingFile(Ledger.open(looks), "tram-fog"))


def test_undo_and_redo_survive_a_restart(edit: Edit, looks: Path) -> None:
    """Back and forth goes on where it was, with a band and a switch in between; all undone is as saved."""
    put(edit, "curve.slope", 1.3, gesture="drag 1")
    put(edit, "mono.weights", [0.5, 0.3, 0.2])
    edit.change(
        dict.fromkeys(path for path in edit.values if ".brick." in path), seen=edit.revision, window=HERE
    )
    edit.undo(HERE)
    again = restarted(looks)
    assert (again.json()["undo"], again.json()["redo"]) == (2, 1)
    again.redo(HERE)
    assert "chroma.band.brick.hue" not in again.values
    again = restarted(looks)
    for _ in range(3):
        again.undo(HERE)
    assert again.values["curve.slope"] == 1.15
    assert not Ledger.open(looks).working_differs("tram-fog")
    again = restarted(looks)
    again.redo(HERE)
    again.redo(HERE)
    assert (again.values["curve.slope"], again.values["mono.weights"]) == (1.3, (0.5, 0.3, 0.2))
    assert "brick" in file_of(looks).read_text()


def test_what_was_written_while_the_bench_was_closed_is_a_step(edit: Edit, looks: Path) -> None:
    """An edit in a text editor meanwhile is undone like one that was seen, and the steps before it too."""
    put(edit, "curve.slope", 1.3)
    file_of(looks).write_text(file_of(looks).read_text().replace("slope = 1.3", "slope = 1.45"))
    again = restarted(looks)
    assert again.values["curve.slope"] == 1.45
    again.undo(HERE)
    assert again.values["curve.slope"] == 1.3
    assert "# a fifth of a stop" in file_of(looks).read_text()
    again.undo(HERE)
    assert again.values["curve.slope"] == 1.15


def test_steps_stay_through_a_save(edit: Edit, looks: Path) -> None:
    """After a save and a restart one can still go back to what stood before, as an edit of its own."""
    put(edit, "curve.slope", 1.3)
    Ledger.open(looks).save("tram-fog")
    edit.saved()
    again = restarted(looks)
    again.undo(HERE)
    assert again.values["curve.slope"] == 1.15
    assert Ledger.open(looks).working_differs("tram-fog")


def test_a_file_outside_the_ledger(looks: Path, tmp_path: Path) -> None:
    """It agrees with the page as a working file does: comments, other programs, undo after a restart."""
    ledger, file = Ledger.open(looks), tmp_path / "dusk.toml"
    file.write_text("curve.slope = 1.1  # by hand\n")
    edit = Edit(OutsideFile(ledger, file))
    put(edit, "curve.slope", 1.2)
    assert file.read_text() == "curve.slope = 1.2  # by hand\n"
    file.write_text("curve.slope = 1.4  # by hand\n")
    (clash,) = edit.change({"curve.slope": 1.3}, seen=edit.revision, window=HERE)
    assert (clash.stands, file.read_text()) == (1.4, "curve.slope = 1.4  # by hand\n")
    again = Edit(OutsideFile(ledger, tmp_path / "." / "dusk.toml"))
    again.undo(HERE)
    again.undo(HERE)
    assert file.read_text() == "curve.slope = 1.1  # by hand\n"
    file.unlink()
    again.look()
    assert again.problem is not None
    assert "dusk.toml: the file is gone" in again.problem.message
    again.write_over(HERE)
    assert "slope = 1.1" in file.read_text()
    assert [each.name for each in tmp_path.glob("*.toml")] == ["dusk.toml"]


def test_what_is_outside(looks: Path, tmp_path: Path) -> None:
    """A recipe's own file in the ledger means that recipe, however written; a link, what it leads to."""
    ledger = Ledger.open(looks)
    (tmp_path / "link.toml").symlink_to(file_of(looks))
    for given in ("tram-fog", str(file_of(looks)), f"{looks}/recipes/../recipes/tram-fog.toml"):
        assert isinstance(draft_of(ledger, given), WorkingFile)
    assert draft_of(ledger, str(tmp_path / "link.toml")).name == "tram-fog"
    outside = draft_of(ledger, str(tmp_path / "Two Tickets.toml"))
    assert isinstance(outside, OutsideFile)
    assert outside.suggested() == "two-tickets"
