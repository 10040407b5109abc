"""Two machines, one ledger: a desk that ran init, a laptop that cloned, a bare repository between them."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from driftline.errors import LedgerError
from driftline.ledger import Ledger

FOG = 'name = "tram-fog"\n\n[exposure]\nev = 0.35   # a third\n\n[curve]\nslope = 1.15\n'


class Machines(NamedTuple):
    """The two copies and the disk between them."""

    desk: Ledger
    laptop: Ledger
    disk: Path


def git(folder: Path, *words: str) -> str:
    """Plain git."""
    done = subprocess.run(["git", "-C", str(folder), *words], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def sound(*ledgers: Ledger) -> None:
    """Plain git finds nothing wrong and nothing to commit."""
    for ledger in ledgers:
        git(ledger.path, "fsck", "--strict")
        assert git(ledger.path, "status", "--porcelain") == ""


@pytest.fixture(scope="session")
def trio(pattern: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a desk, a disk and a laptop that each test gets copies of."""
    folder = tmp_path_factory.mktemp("trio")
    shutil.copytree(pattern, folder / "desk")
    Ledger.open(folder / "desk").save("tram-fog", FOG)
    git(folder, "clone", "--quiet", "--bare", "desk", "disk.git")
    git(folder, "clone", "--quiet", "disk.git", "laptop")
    git(folder / "laptop", "config", "driftline.copy", "laptop")
    git(folder / "laptop", "config", "remote.origin.url", "../disk.git")
    return folder


@pytest.fixture
def machines(trio: Path, tmp_path: Path) -> Machines:
    """A desk and a laptop that both know tram-fog@2 and quay-night@1."""
    for name in ("desk", "laptop", "disk.git"):
        shutil.copytree(trio / name, tmp_path / name)
    return Machines(Ledger.open(tmp_path / "desk"), Ledger.open(tmp_path / "laptop"), tmp_path / "disk.git")


def test_a_copy_gets_a_label_of_its_own(machines: Machines, tmp_path: Path) -> None:
    """Versions born on a clone carry its label; two clones on one machine never share names."""
    refs = set()
    for name in ("one", "two"):
        git(tmp_path, "clone", "--quiet", str(machines.disk), str(tmp_path / name))
        copy = Ledger.open(tmp_path / name)
        saved = copy.save("tram-fog", "exposure.ev = 1.0\n")
        assert saved.ref.startswith("tram-fog@3.")
        assert copy.save("tram-fog", "exposure.ev = 2.0\n").ref == saved.ref.replace("@3", "@4")
        refs.add(saved.ref)
    assert len(refs) == 2
    assert machines.laptop.save("tram-fog", "exposure.ev = 1.0\n").ref == "tram-fog@3.laptop"
    assert machines.desk.save("tram-fog", "exposure.ev = 1.0\n").ref == "tram-fog@3"


def test_what_only_one_side_did_goes_over(machines: Machines) -> None:
    """The laptop's work reaches the desk by way of the disk, unchanged and under its own names."""
    desk, laptop, disk = machines
    laptop.save("tram-fog", FOG.replace("1.15", "1.30"), note="on the train")
    there = laptop.reconcile(str(disk))
    assert (there.pushed, there.sent, there.received, there.merged) == (True, ("tram-fog@3.laptop",), (), ())
    here = desk.reconcile(str(disk))
    assert (here.received, here.merged, here.pushed) == (("tram-fog@3.laptop",), (), True)
    assert desk.working_text("tram-fog") == FOG.replace("1.15", "1.30")
    assert [v.json() for v in desk.versions()] == [v.json() for v in laptop.versions()]
    assert desk.save("tram-fog", FOG).ref == "tram-fog@4"
    sound(desk, laptop)


def test_different_parameters_merge(machines: Machines) -> None:
    """Exposure changed here and contrast there give a version of kind merge with both; comments stay."""
    desk, laptop, disk = machines
    laptop.save("tram-fog", FOG.replace("1.15", "1.30"))
    laptop.save("quay-night", 'name = "quay-night"\n[curve]\nslope = 1.4\n')
    laptop.reconcile(str(disk))
    desk.save("tram-fog", FOG.replace("0.35", "0.50"))
    met = desk.reconcile(str(disk))
    assert met.merged == ("tram-fog@4",)
    assert met.received == ("tram-fog@3.laptop", "quay-night@2.laptop")
    assert met.pushed
    assert desk.working_text("tram-fog") == FOG.replace("1.15", "1.3").replace("0.35", "0.50")
    newest = desk.versions("tram-fog")[0]
    assert (newest.kind, newest.parents) == ("merge", ("tram-fog@3", "tram-fog@3.laptop"))
    assert [(c.field, c.after) for c in newest.changes] == [("curve.slope", 1.3)]
    assert not desk.working_differs("quay-night")
    assert laptop.reconcile(str(disk)).received == ("tram-fog@3", "tram-fog@4")
    assert laptop.text("tram-fog") == desk.text("tram-fog")
    assert laptop.save("tram-fog", FOG).ref == "tram-fog@5.laptop"
    assert {v.ref for v in desk.versions("tram-fog")} == {
        "tram-fog@1", "tram-fog@2", "tram-fog@3", "tram-fog@3.laptop", "tram-fog@4",
    }  # fmt: skip
    sound(desk, laptop)


def test_the_same_parameter_changed_twice_is_a_choice(machines: Machines) -> None:
    """An open choice changes nothing on either side; decided, it merges."""
    desk, laptop, disk = machines
    laptop.save("tram-fog", FOG.replace("1.15", "1.30").replace("0.35", "0.10"))
    laptop.reconcile(str(disk))
    desk.save("tram-fog", FOG.replace("1.15", "1.00"))
    head, other = git(desk.path, "rev-parse", "HEAD"), git(disk, "rev-parse", "HEAD")
    met = desk.reconcile(str(disk))
    assert [choice.json() for choice in met.choices] == [
        {"key": "tram-fog.curve.slope", "recipe": "tram-fog", "field": "curve.slope",
         "here": 1.0, "there": 1.3, "unit": ""},
    ]  # fmt: skip
    assert not met.pushed
    assert git(desk.path, "rev-parse", "HEAD") == head
    assert git(disk, "rev-parse", "HEAD") == other
    assert desk.reconcile(str(disk), choose={"tram-fog.curve.slope": "there"}).merged == ("tram-fog@4",)
    assert desk.read("tram-fog").curve.slope == 1.3
    assert desk.read("tram-fog").exposure.ev == 0.1
    sound(desk)


@pytest.mark.parametrize(("side", "slope"), [("here", 1.0), ("there", 1.3)])
def test_one_word_can_decide_everything(machines: Machines, side: str, slope: float) -> None:
    """``*`` takes one side for all choices that are left."""
    desk, laptop, disk = machines
    laptop.save("tram-fog", FOG.replace("1.15", "1.30"))
    laptop.reconcile(str(disk))
    desk.save("tram-fog", FOG.replace("1.15", "1.00"))
    desk.reconcile(str(disk), choose={"*": side})  # type: ignore[dict-item]
    assert desk.read("tram-fog").curve.slope == slope


def test_both_made_the_same_change(machines: Machines) -> None:
    """One text on both sides is no choice; still one version joins the two lines."""
    desk, laptop, disk = machines
    for copy in (desk, laptop):
        copy.save("tram-fog", FOG.replace("1.15", "1.30"))
    laptop.reconcile(str(disk))
    met = desk.reconcile(str(disk))
    assert (met.choices, met.merged) == ((), ("tram-fog@4",))
    assert not desk.working_differs("tram-fog")
    sound(desk)


def test_a_side_that_went_there_and_back(machines: Machines) -> None:
    """Versions whose texts cancel out still come over, and the last version is what the file holds."""
    desk, laptop, disk = machines
    laptop.save("tram-fog", FOG.replace("1.15", "1.30"))
    laptop.restore("tram-fog@2")
    laptop.reconcile(str(disk))
    desk.save("tram-fog", FOG.replace("0.35", "0.50"))
    met = desk.reconcile(str(disk))
    assert met.merged == ("tram-fog@5",)
    assert desk.read("tram-fog").exposure.ev == 0.5
    assert not desk.working_differs("tram-fog")
    sound(desk)


def test_a_recipe_begun_on_both_sides(machines: Machines) -> None:
    """Two recipes of one name, begun apart, merge against neutral."""
    desk, laptop, disk = machines
    laptop.save("depot-rain", "curve.slope = 1.3\n")
    laptop.reconcile(str(disk))
    desk.save("depot-rain", "exposure.ev = 0.2\n")
    assert desk.reconcile(str(disk)).merged == ("depot-rain@2",)
    recipe = desk.read("depot-rain")
    assert (recipe.exposure.ev, recipe.curve.slope) == (0.2, 1.3)


def test_records_settings_and_proofs_meet_too(machines: Machines) -> None:
    """Records of prints are joined, settings merged line by line, kept proofs come over."""
    desk, laptop, disk = machines
    text = (desk.path / "settings.toml").read_text()
    for copy, line, edit in (
        (laptop, {"frame": "a"}, ('creator = ""', 'creator = "A. Nonymous"')),
        (desk, {"frame": "b"}, ("quality = 88", "quality = 80")),
    ):
        copy.record_run(2031, "both", [{"frame": "0"}, line])
        copy.save_settings(text.replace(*edit))
    laptop.keep_proof("ab" * 32, {"x.bin": b"1"})
    laptop.reconcile(str(disk))
    desk.reconcile(str(disk))
    assert [dict(r.line)["frame"] for r in desk.printed()] == ["0", "b", "a"]
    assert (desk.settings().credit.creator, desk.settings().purposes["screen"].quality) == ("A. Nonymous", 80)
    assert desk.kept_proofs() == ["ab" * 32]
    sound(desk)


def test_settings_that_clash_are_a_choice(machines: Machines) -> None:
    """Where lines clash the whole file is decided."""
    desk, laptop, disk = machines
    text = (desk.path / "settings.toml").read_text()
    laptop.save_settings(text.replace('creator = ""', 'creator = "A"'))
    desk.save_settings(text.replace('creator = ""', 'creator = "B"'))
    laptop.reconcile(str(disk))
    met = desk.reconcile(str(disk))
    assert [choice.key for choice in met.choices] == ["settings.toml"]
    desk.reconcile(str(disk), choose={"settings.toml": "there"})
    assert desk.settings().credit.creator == "A"


def test_unrelated_ledgers_are_refused(machines: Machines, tmp_path: Path) -> None:
    """Two ledgers that never were one stay two."""
    other = Ledger.create(tmp_path / "other", {"tram-fog": FOG})
    with pytest.raises(LedgerError) as caught:
        other.reconcile(str(machines.disk))
    assert caught.value.code == "ledger-unrelated"
    assert len(other.versions()) == 1


def test_an_unsaved_edit_is_not_run_over(machines: Machines) -> None:
    """What the other side changed and is edited here has to be saved first."""
    desk, laptop, disk = machines
    laptop.save("tram-fog", FOG.replace("1.15", "1.30"))
    laptop.reconcile(str(disk))
    edited = FOG.replace("0.35", "0.99")
    (desk.path / "recipes/tram-fog.toml").write_text(edited)
    with pytest.raises(LedgerError) as caught:
        desk.reconcile(str(disk))
    assert caught.value.code == "unsaved-edit"
    assert desk.working_text("tram-fog") == edited
    desk.save("tram-fog")
    assert desk.reconcile(str(disk)).merged == ("tram-fog@4",)
    assert (desk.read("tram-fog").exposure.ev, desk.read("tram-fog").curve.slope) == (0.99, 1.3)


def test_an_empty_disk_is_filled(machines: Machines, tmp_path: Path) -> None:
    """A new bare repository becomes a backup."""
    git(tmp_path, "init", "--quiet", "--bare", "--initial-branch=main", str(tmp_path / "new.git"))
    met = machines.desk.reconcile(str(tmp_path / "new.git"))
    assert met.pushed
    assert set(met.sent) == {v.ref for v in machines.desk.versions()}
    assert git(tmp_path / "new.git", "rev-parse", "main") == git(machines.desk.path, "rev-parse", "HEAD")


def test_a_ledger_with_files_is_read_but_not_pushed_to(machines: Machines) -> None:
    """The folder of another ledger can be met directly; it takes over our side by itself."""
    desk, laptop, _ = machines
    laptop.save("tram-fog", FOG.replace("1.15", "1.30"))
    desk.save("quay-night", "exposure.ev = 1.0\n")
    met = desk.reconcile(str(laptop.path))
    assert met.received == ("tram-fog@3.laptop",)
    assert (met.pushed, "reconcile there" in met.reason) == (False, True)
    assert laptop.reconcile(str(desk.path)).received == ("quay-night@2",)
    sound(desk, laptop)


def test_copies_with_one_label_are_told_apart(machines: Machines, tmp_path: Path) -> None:
    """A name given out twice is refused: no version name ever moves."""
    _, laptop, disk = machines
    shutil.copytree(laptop.path, tmp_path / "twin")
    twin = Ledger.open(tmp_path / "twin")
    laptop.save("tram-fog", FOG.replace("1.15", "1.30"))
    twin.save("tram-fog", FOG.replace("1.15", "1.40"))
    laptop.reconcile(str(disk))
    with pytest.raises(LedgerError) as caught:
        twin.reconcile(str(disk))
    assert caught.value.code == "ledger-same-label"
    assert "tram-fog@3.laptop" in str(caught.value)


def test_nothing_of_the_other_copy_runs(machines: Machines, tmp_path: Path) -> None:
    """Hooks of a bare repository on a disk stay data, and settings that could start a program are refused."""
    desk, _, disk = machines
    sprung = tmp_path / "sprung"
    (disk / "hooks").mkdir(exist_ok=True)
    for name in (
        "pre-receive",
        "update",
        "post-receive",
        "reference-transaction",
        "post-update",
        "proc-receive",
    ):
        (disk / "hooks" / name).write_text(f"#!/bin/sh\necho {name} >> '{sprung}'\n")
        (disk / "hooks" / name).chmod(0o755)
    desk.save("tram-fog", "exposure.ev = 1.0\n")
    assert desk.reconcile(str(disk)).pushed
    assert not sprung.exists()
    git(disk, "config", "uploadpack.packObjectsHook", str(disk / "hooks/update"))
    with pytest.raises(LedgerError) as caught:
        desk.reconcile(str(disk))
    assert caught.value.code == "ledger-foreign-settings"


@pytest.mark.parametrize(
    ("remote", "code"),
    [("ext::sh -c x", "bad-remote"), ("-x", "bad-remote"), ("/nowhere/at/all", "remote-not-found")],
)
def test_addresses_that_lead_nowhere(machines: Machines, remote: str, code: str) -> None:
    """Each has its own error."""
    with pytest.raises(LedgerError) as caught:
        machines.desk.reconcile(remote)
    assert caught.value.code == code
    assert caught.value.hint


def test_a_remote_by_its_name(machines: Machines) -> None:
    """The laptop's clone knows the disk as origin."""
    machines.laptop.save("tram-fog", FOG.replace("1.15", "1.30"))
    assert machines.laptop.reconcile("origin").pushed


def test_a_link_in_the_other_copy_is_refused(machines: Machines, tmp_path: Path) -> None:
    """A commit with a symbolic link is not taken over."""
    desk, laptop, disk = machines
    (laptop.path / "recipes/evil.toml").symlink_to("/etc/passwd")
    git(laptop.path, "add", "recipes/evil.toml")
    git(laptop.path, "commit", "--quiet", "-m", "a link")
    git(laptop.path, "push", "--quiet")
    desk.save("tram-fog", "exposure.ev = 1.0\n")
    with pytest.raises(LedgerError) as caught:
        desk.reconcile(str(disk))
    assert caught.value.code == "ledger-link"
    assert not (desk.path / "recipes/evil.toml").is_symlink()


def test_three_copies_come_to_one_history(machines: Machines, tmp_path: Path) -> None:
    """Whoever meets the disk in whatever order: in the end all hold the same versions."""
    desk, laptop, disk = machines
    git(tmp_path, "clone", "--quiet", str(disk), str(tmp_path / "studio"))
    studio = Ledger.open(tmp_path / "studio")
    desk.save("tram-fog", FOG.replace("0.35", "0.50"))
    laptop.save("tram-fog", FOG.replace("1.15", "1.30"))
    studio.save("tram-fog", FOG + "toe = -0.1\n")
    everyone: list[Callable[..., object]] = [studio.reconcile, laptop.reconcile, desk.reconcile]
    for meet in (*everyone, *everyone):
        meet(str(disk))
    recipe = desk.read("tram-fog")
    assert (recipe.exposure.ev, recipe.curve.slope, recipe.curve.toe) == (0.5, 1.3, -0.1)
    for copy in (laptop, studio):
        assert {v.ref for v in copy.versions()} == {v.ref for v in desk.versions()}
        assert copy.text("tram-fog") == desk.text("tram-fog")
        assert not copy.working_differs("tram-fog")
    sound(desk, laptop, studio)


class Stopped(BaseException):
    """The program is gone."""


@pytest.mark.parametrize("step", [1, 2])
def test_a_meeting_that_is_cut_off_is_before_or_after(machines: Machines, step: int) -> None:
    """Stopped before the commit point nothing happened; after it, all versions are there and files follow."""
    desk, laptop, disk = machines
    laptop.save("tram-fog", FOG.replace("1.15", "1.30"))
    laptop.save("quay-night", "curve.slope = 1.4\n")
    laptop.reconcile(str(disk))
    desk.save("tram-fog", FOG.replace("0.35", "0.50"))

    def stop(done: int) -> None:
        if done == step:
            raise Stopped

    with pytest.raises(Stopped):
        Ledger.open(desk.path, after_step=stop).reconcile(str(disk))
    again = Ledger.open(desk.path)
    assert len(again.versions()) == (4 if step == 1 else 7)
    sound(again)
    assert again.reconcile(str(disk)).pushed
    assert {v.ref for v in again.versions()} >= {"tram-fog@3", "tram-fog@3.laptop", "tram-fog@4"}
    assert not again.working_differs("quay-night")
    sound(again)
