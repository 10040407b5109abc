"""The ledger as a photographer uses it, and as plain git sees it."""

from __future__ import annotations

import shlex
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest

from driftline.errors import LedgerError, RecipeError
from driftline.ledger import Ledger

PlainGit = Callable[..., str]


def edit(path: Path, before: str, after: str) -> None:
    """Edit a file as a text editor would."""
    text = path.read_text()
    assert before in text
    path.write_text(text.replace(before, after))


def test_a_new_ledger_is_a_sound_and_clean_repository(ledger: Ledger, git: PlainGit) -> None:
    """After create, plain git finds nothing to complain about and nothing to commit."""
    assert git("fsck", "--strict", "--full") == ""
    assert git("status", "--porcelain") == ""
    assert ledger.recipes() == ["quay-night", "tram-fog"]
    assert [v.ref for v in ledger.versions()] == ["quay-night@1", "tram-fog@1"]


def test_a_hand_edit_becomes_the_next_version(ledger: Ledger, fog: Path, git: PlainGit) -> None:
    """Saving takes the working file, says what changed, and leaves the repository clean."""
    edit(fog, "0.35", "0.50")
    assert ledger.working_differs("tram-fog")
    saved = ledger.save("tram-fog", note="brighter")
    assert (saved.saved, saved.ref, saved.kind) == (True, "tram-fog@2", "version")
    assert [c.json() for c in saved.changes] == [
        {"field": "exposure.ev", "from": 0.35, "to": 0.5, "unit": "EV"}
    ]
    assert not ledger.working_differs("tram-fog")
    assert git("status", "--porcelain") == ""
    assert git("rev-parse", "HEAD").strip() == saved.commit
    assert git("show", f"{saved.commit}:recipes/tram-fog.toml") == fog.read_text()


def test_one_save_is_one_commit_that_touches_one_recipe(ledger: Ledger, fog: Path, git: PlainGit) -> None:
    """Nothing but the recipe's file is in the commit of a save."""
    edit(fog, "0.35", "0.50")
    ledger.save("tram-fog")
    assert git("show", "--format=", "--name-only", "HEAD").split() == ["recipes/tram-fog.toml"]


def test_saving_the_same_again_saves_nothing(ledger: Ledger, git: PlainGit) -> None:
    """An identical text gives the version that there is."""
    head = git("rev-parse", "HEAD")
    saved = ledger.save("tram-fog")
    assert (saved.saved, saved.ref) == (False, "tram-fog@1")
    assert git("rev-parse", "HEAD") == head


def test_words_alone_are_kept_but_are_no_change_of_the_look(ledger: Ledger, fog: Path) -> None:
    """A changed comment or about is a version of kind words, with no changes and the same look."""
    edit(fog, "a third of a stop", "from the wet week")
    saved = ledger.save("tram-fog")
    newest, oldest = ledger.versions("tram-fog")
    assert (saved.saved, saved.kind, saved.changes) == (True, "words", ())
    assert newest.look == oldest.look
    assert "from the wet week" in ledger.text("tram-fog@2")


def test_a_text_given_is_saved_and_written_out(ledger: Ledger, fog: Path, git: PlainGit) -> None:
    """save with a text makes the version and refreshes the working file."""
    ledger.save("tram-fog", "[exposure]\nev = -1.0\n")
    assert fog.read_text() == "[exposure]\nev = -1.0\n"
    assert ledger.read("tram-fog").exposure.ev == -1.0
    assert git("status", "--porcelain") == ""


def test_a_new_name_begins_a_recipe(ledger: Ledger, git: PlainGit) -> None:
    """The first version of a recipe says what it is against neutral."""
    saved = ledger.save("harbour-noon", "[curve]\nslope = 1.3\n")
    assert saved.ref == "harbour-noon@1"
    assert [(c.field, c.before, c.after) for c in saved.changes] == [("curve.slope", 1.0, 1.3)]
    assert (ledger.path / "recipes/harbour-noon.toml").exists()
    assert git("status", "--porcelain") == ""


def test_every_version_is_read_as_it_was_saved(ledger: Ledger, fog: Path) -> None:
    """NAME@N names the same bytes for ever; NAME alone is the last version."""
    texts = [fog.read_text()]
    for ev in ("0.40", "0.45", "0.50"):
        fog.write_text(texts[0].replace("0.35", ev))
        ledger.save("tram-fog")
        texts.append(fog.read_text())
    assert [ledger.text(f"tram-fog@{n}") for n in (1, 2, 3, 4)] == texts
    assert ledger.text("tram-fog") == texts[-1]
    assert ledger.read("tram-fog@2").exposure.ev == 0.4


def test_bytes_are_kept_exactly(ledger: Ledger, fog: Path, git: PlainGit) -> None:
    """Carriage returns and a missing last line end survive, whatever git's line end settings are."""
    git("config", "--global", "core.autocrlf", "input")
    content = b'name = "tram-fog"\r\n[exposure]\r\nev = 0.1'
    fog.write_bytes(content)
    ledger.save("tram-fog")
    assert ledger.text("tram-fog@2").encode() == content
    assert fog.read_bytes() == content
    assert git("status", "--porcelain") == ""


def test_drift_proofs_and_edition_are_kept_with_the_version(ledger: Ledger) -> None:
    """What was measured at the save is read back from the history."""
    drift = {"verdict": "leaning", "causes": {"chroma": {"judged": 0.31, "reason": "a — b"}}}
    ledger.save("tram-fog", "[exposure]\nev = 1.0\n", drift=drift, proofs=["ab" * 32], edition="3")
    version = ledger.versions("tram-fog")[0]
    assert (version.drift, version.proofs, version.edition) == (drift, ("ab" * 32,), "3")
    assert version.json()["drift"] == drift


def test_drift_that_json_cannot_hold_is_refused(ledger: Ledger, git: PlainGit) -> None:
    """Not-a-number in a drift is a clear error and saves nothing."""
    with pytest.raises(LedgerError, match="cannot be kept") as caught:
        ledger.save("tram-fog", "[exposure]\nev = 1.0\n", drift={"x": float("nan")})
    assert caught.value.code == "bad-drift"
    assert len(ledger.versions("tram-fog")) == 1
    assert git("status", "--porcelain") == ""


def test_a_fork_is_a_recipe_of_its_own_that_keeps_its_parent(
    ledger: Ledger, fog: Path, git: PlainGit
) -> None:
    """The name in the text changes, its comments stay, and lineage crosses recipes."""
    edit(fog, "0.35", "0.50")
    ledger.save("tram-fog")
    saved = ledger.fork("tram-fog@1", "depot-rain", note="for the depot")
    assert (saved.ref, saved.kind, saved.parents) == ("depot-rain@1", "fork", ("tram-fog@1",))
    text = (ledger.path / "recipes/depot-rain.toml").read_text()
    assert 'name = "depot-rain"' in text
    assert "# a third of a stop" in text
    assert git("status", "--porcelain") == ""
    with pytest.raises(LedgerError, match="there is a recipe of that name"):
        ledger.fork("tram-fog@1", "quay-night")


def test_restore_makes_a_new_version_of_an_old_text(ledger: Ledger, fog: Path, git: PlainGit) -> None:
    """A restore adds to the history; the versions between stay."""
    first = fog.read_text()
    edit(fog, "0.35", "0.50")
    ledger.save("tram-fog")
    saved = ledger.restore("tram-fog@1")
    assert (saved.ref, saved.kind, saved.parents) == ("tram-fog@3", "restore", ("tram-fog@1",))
    assert fog.read_text() == first
    assert len(ledger.versions("tram-fog")) == 3
    assert git("status", "--porcelain") == ""


@pytest.mark.parametrize("overwrite", ["restore", "text"])
def test_an_unsaved_hand_edit_is_never_overwritten(ledger: Ledger, fog: Path, overwrite: str) -> None:
    """What would overwrite a hand edit refuses, and says to save it first."""
    edit(fog, "0.35", "0.50")
    ledger.save("tram-fog")
    edit(fog, "0.50", "0.60")
    before = fog.read_bytes()
    act = partial(ledger.restore, "tram-fog@1")
    if overwrite == "text":
        act = partial(ledger.save, "tram-fog", "[exposure]\nev = 0.0\n")
    with pytest.raises(LedgerError) as caught:
        act()
    assert caught.value.code == "unsaved-edit"
    assert "driftline save tram-fog" in caught.value.hint
    assert fog.read_bytes() == before
    assert len(ledger.versions("tram-fog")) == 2


def test_what_plain_git_checked_out_is_a_hand_edit(ledger: Ledger, fog: Path, git: PlainGit) -> None:
    """An old text put back by hand is nobody's but the photographer's: kept, shown, and saved when asked."""
    old = fog.read_text()
    ledger.save("tram-fog", "[exposure]\nev = 0.1\n")
    git("checkout", "HEAD~1", "--", "recipes/tram-fog.toml")
    assert ledger.working_differs("tram-fog")
    ledger.fork("tram-fog@2", "other")
    assert fog.read_text() == old
    saved = ledger.save("tram-fog")
    assert (saved.ref, ledger.text("tram-fog@3")) == ("tram-fog@3", old)


def test_a_file_deleted_by_hand_comes_back_by_restore(ledger: Ledger, fog: Path, git: PlainGit) -> None:
    """Restoring the last version makes no new one, and writes the missing file out again."""
    fog.unlink()
    with pytest.raises(LedgerError) as caught:
        ledger.save("tram-fog")
    assert caught.value.code == "no-such-recipe-file"
    assert "driftline restore tram-fog@1" in caught.value.hint
    saved = ledger.restore("tram-fog@1")
    assert (saved.saved, saved.ref) == (False, "tram-fog@1")
    assert fog.exists()
    assert git("status", "--porcelain") == ""


def test_the_name_in_the_file_must_be_its_stem(ledger: Ledger, fog: Path) -> None:
    """In the ledger a recipe's name is its file's; another one is an error that shows both ways out."""
    edit(fog, 'name = "tram-fog"', 'name = "Other"'.lower())
    with pytest.raises(RecipeError) as caught:
        ledger.save("tram-fog")
    assert caught.value.code == "recipe-name-mismatch"
    assert len(ledger.versions("tram-fog")) == 1


def test_a_broken_recipe_is_not_saved(ledger: Ledger, fog: Path) -> None:
    """The recipe room's error comes through with file and line; nothing is committed."""
    edit(fog, "0.35", "99")
    with pytest.raises(RecipeError, match=r"line 6, exposure\.ev: 99"):
        ledger.save("tram-fog")
    assert len(ledger.versions("tram-fog")) == 1


def test_a_recipe_file_that_waits_to_be_saved_is_said(ledger: Ledger) -> None:
    """Whatever asks for its versions is told so, and how to save it; not that it is unknown."""
    (ledger.path / "recipes" / "tram-late.toml").write_text("[curve]\nslope = 1.1\n")
    asks: list[Callable[[], object]] = [
        lambda: ledger.text("tram-late"),
        lambda: ledger.text("tram-late@1"),
        lambda: ledger.versions("tram-late"),
        lambda: ledger.lineage("tram-late"),
        lambda: ledger.trend("tram-late"),
        lambda: ledger.set_proofs("tram-late", []),
        lambda: ledger.fork("tram-late@1", "later"),
    ]
    for ask in asks:
        with pytest.raises(LedgerError) as caught:
            ask()
        assert caught.value.code == "recipe-not-saved"
        assert "recipes/tram-late.toml" in caught.value.message
        assert "driftline save tram-late " in caught.value.hint
    assert ledger.save("tram-late").ref == "tram-late@1"
    assert ledger.text("tram-late") == "[curve]\nslope = 1.1\n"


@pytest.mark.parametrize("file", ["recipes/dusk.toml", "Dusk.toml", "my looks/dusk.toml"])
def test_a_file_where_a_version_is_wanted(ledger: Ledger, file: str) -> None:
    """The hint is the line that saves it, ready for a shell."""
    with pytest.raises(LedgerError) as caught:
        ledger.version(file)
    assert caught.value.code == "bad-name"
    words = shlex.split(caught.value.hint.partition("; ")[2])
    assert words[:5] == ["driftline", "save", "dusk", "--from", file]


@pytest.mark.parametrize(
    ("ask", "code"),
    [
        ("tram-fgo", "no-such-recipe"),
        ("tram-fog@9", "no-such-version"),
        ("tram-fog@1.laptop", "no-such-version"),
        ("tram-fog@x", "bad-ref"),
        ("tram-fog@0", "bad-ref"),
        ("tram-fog@01", "bad-ref"),
        ("Tram@1", "bad-name"),
        ("../x@1", "bad-name"),
        ("-x@1", "bad-name"),
        ("con", "bad-name"),
        ("a" * 65, "bad-name"),
        ("", "bad-name"),
    ],
)
def test_what_is_not_there_is_said(ledger: Ledger, ask: str, code: str) -> None:
    """Unknown and impossible names have their own errors, with a hint."""
    with pytest.raises(LedgerError) as caught:
        ledger.text(ask)
    assert caught.value.code == code
    assert caught.value.hint


def test_a_near_miss_is_offered(ledger: Ledger) -> None:
    """The hint names the recipe that was probably meant."""
    with pytest.raises(LedgerError) as caught:
        ledger.versions("tram-fgo")
    assert caught.value.hint == "did you mean tram-fog"


def test_find_looks_upwards(ledger: Ledger, tmp_path: Path) -> None:
    """Any folder inside a ledger finds it; a folder outside any says how to make one."""
    inside = ledger.path / "some" / "where"
    inside.mkdir(parents=True)
    assert Ledger.find(inside).path == ledger.path
    with pytest.raises(LedgerError) as caught:
        Ledger.find(tmp_path)
    assert caught.value.code == "ledger-not-found"
    assert "driftline init" in caught.value.hint


def test_create_refuses_what_is_there(ledger: Ledger, tmp_path: Path) -> None:
    """Neither a ledger nor anything else is built over; an empty folder is fine."""
    with pytest.raises(LedgerError) as caught:
        Ledger.create(ledger.path)
    assert caught.value.code == "ledger-exists"
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "file").write_text("mine")
    with pytest.raises(LedgerError) as caught:
        Ledger.create(tmp_path / "full")
    assert caught.value.code == "folder-not-empty"
    (tmp_path / "empty").mkdir()
    assert Ledger.create(tmp_path / "empty").recipes() == []


def test_a_failed_create_leaves_nothing(tmp_path: Path) -> None:
    """A starter recipe that cannot be read leaves no folder behind."""
    with pytest.raises(RecipeError):
        Ledger.create(tmp_path / "new", {"bad": "exposure = 3"})
    assert not (tmp_path / "new").exists()
    assert [p.name for p in tmp_path.iterdir()] == ["home"]


def test_lineage_joins_recipes(ledger: Ledger) -> None:
    """The family of a recipe holds its relatives and nobody else; every parent comes before its child."""
    ledger.fork("tram-fog@1", "depot-rain")
    ledger.save("depot-rain", "[exposure]\nev = 0.7\n")
    tree = ledger.lineage("depot-rain")
    refs = [node.ref for node in tree.nodes]
    assert refs == ["tram-fog@1", "depot-rain@1", "depot-rain@2"]
    assert [(e.parent, e.child, e.kind) for e in tree.edges] == [
        ("tram-fog@1", "depot-rain@1", "fork"),
        ("depot-rain@1", "depot-rain@2", "version"),
    ]
    assert {node.ref for node in ledger.lineage().nodes} > set(refs)
    assert tree.json()["edges"][0] == {"from": "tram-fog@1", "to": "depot-rain@1", "kind": "fork"}


def test_clone_and_bundle_hold_everything(ledger: Ledger, git: PlainGit, tmp_path: Path) -> None:
    """A plain git clone, and a clone of a plain git bundle, are the same ledger."""
    ledger.save("tram-fog", "[exposure]\nev = 1.0\n", note="kept")
    git("bundle", "create", str(tmp_path / "b.bundle"), "--all")
    for source in (str(ledger.path), str(tmp_path / "b.bundle")):
        target = tmp_path / f"copy-{Path(source).name}"
        git("clone", "--quiet", source, str(target))
        copy = Ledger.open(target)
        assert [v.json() for v in copy.versions()] == [v.json() for v in ledger.versions()]
        assert copy.text("tram-fog@1") == ledger.text("tram-fog@1")


def test_gc_in_the_middle_changes_nothing(ledger: Ledger, git: PlainGit) -> None:
    """Packed references and objects are read and saved to like loose ones."""
    ledger.save("tram-fog", "[exposure]\nev = 1.0\n")
    git("gc", "--quiet", "--prune=now")
    assert len(ledger.versions("tram-fog")) == 2
    assert ledger.save("tram-fog", "[exposure]\nev = 1.5\n").ref == "tram-fog@3"
    git("gc", "--quiet", "--prune=now")
    assert [v.version for v in Ledger.open(ledger.path).versions("tram-fog")] == [3, 2, 1]
    assert git("fsck", "--strict") == ""


def test_plain_git_log_shows_what_changed(ledger: Ledger, git: PlainGit) -> None:
    """The subject of a version's commit tells the change in words."""
    ledger.save("tram-fog", "[exposure]\nev = 0.5\n")
    assert git("log", "-1", "--format=%s").strip() == "tram-fog@2: exposure +0.35 → +0.50 EV"


def test_reading_the_history_loads_no_heavy_package(ledger: Ledger) -> None:
    """Neither pixels nor models are loaded to list versions."""
    script = (
        "import sys; from driftline.ledger import Ledger; Ledger.open(sys.argv[1]).versions('tram-fog');"
        "print(sorted({'numpy', 'numba', 'colour', 'pydantic', 'rawpy', 'scipy'} & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, str(ledger.path)], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_a_blend_keeps_both_parents(ledger: Ledger, git: PlainGit) -> None:
    """Half way between two recipes, as the first version of a third."""
    saved = ledger.blend("tram-fog@1", "quay-night", "halfway", weight=0.5)
    assert (saved.ref, saved.kind, saved.parents) == ("halfway@1", "blend", ("tram-fog@1", "quay-night@1"))
    assert ledger.read("halfway").exposure.ev == pytest.approx(0.175)
    assert ledger.read("halfway").curve.slope == pytest.approx(1.2**0.5, abs=1e-3)
    assert {(e.parent, e.child) for e in ledger.lineage("halfway").edges} == {
        ("tram-fog@1", "halfway@1"), ("quay-night@1", "halfway@1"),
    }  # fmt: skip
    assert git("status", "--porcelain") == ""


def test_a_blend_at_its_ends_is_the_end(ledger: Ledger) -> None:
    """Weight 0 and 1 give the looks themselves."""
    ledger.blend("tram-fog", "quay-night", "at-zero", weight=0.0)
    ledger.blend("tram-fog", "quay-night", "at-one", weight=1.0)
    look = {v.recipe: v.look for v in ledger.versions()}
    assert (look["at-zero"], look["at-one"]) == (look["tram-fog"], look["quay-night"])


def test_restoring_and_saving_mono_weights_reads_back(ledger: Ledger) -> None:
    """Changes that hold a triple come back as what they were."""
    ledger.save("tram-fog", "[mono]\nweights = [0.3, 0.6, 0.1]\n")
    changes = {change.field: change for change in ledger.versions("tram-fog")[0].changes}
    assert changes["mono.weights"].after == (0.3, 0.6, 0.1)
    assert changes["mono.weights"].before is None


def test_many_texts_are_read_at_once(ledger: Ledger, fog: Path) -> None:
    """The texts by ref are those that were saved, one by one the same."""
    edit(fog, "0.35", "0.50")
    ledger.save("tram-fog")
    texts = ledger.texts(ledger.versions())
    assert texts == {ref: ledger.text(ref) for ref in ("tram-fog@1", "tram-fog@2", "quay-night@1")}
    assert "ev = 0.50" in texts["tram-fog@2"]


def test_a_text_that_is_not_there_is_left_out(ledger: Ledger) -> None:
    """A version whose commit holds no such file costs the others nothing."""
    fog, quay = ledger.version("tram-fog"), ledger.version("quay-night")
    lost = replace(fog, recipe="no-such-look", ref="no-such-look@1")
    assert set(ledger.texts([lost, quay])) == {"quay-night@1"}
