"""``apply``: a batch of prints."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from cli.conftest import QUAY, Cli
from driftline.batch.pool import WorkerPool
from driftline.prints import read_provenance


@pytest.fixture(autouse=True)
def _one_pool(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    """One worker for the whole file: starting one takes seconds. It stays in the first test's folder."""
    pool: WorkerPool = request.getfixturevalue("worker")

    class Borrowed:
        """The worker, which a run must leave open."""

        def __init__(self, *_: object) -> None:
            self.submit = pool.submit

        def shutdown(self) -> None:
            """Not ours to end."""

        kill = shutdown

    monkeypatch.setattr("driftline.batch.run.WorkerPool", Borrowed)


@pytest.fixture(scope="module")
def worker() -> object:
    """A pool of one."""
    with WorkerPool(1) as pool:
        yield pool


def test_prints_of_the_last_version(cli: Cli, looks: Path, home: Path) -> None:
    """The document names frame, print and verdict; each print names the version that made it."""
    told = cli("apply", "tram-fog", "shoot", "--out", "prints", "--size", "64", "--ledger", looks, "--json")
    document = told.json
    assert told.status == 0
    assert document.keys() >= {"prints", "failed", "skipped", "seconds"}
    assert [Path(one["frame"]).name for one in document["prints"]] == [f"quay-0{n}.dng" for n in (1, 2, 3)]
    assert all(one.keys() >= {"frame", "path", "verdict"} for one in document["prints"])
    traced = read_provenance(Path(document["prints"][0]["path"]))
    assert (traced.provenance.making.ref, traced.intact) == ("tram-fog@3", True)
    with Image.open(document["prints"][0]["path"]) as picture:
        assert max(picture.size) == 64
    again = cli("apply", "tram-fog", "shoot", "--out", "prints", "--size", "64", "--ledger", looks, "--json")
    assert (again.status, again.json["prints"], again.json["skipped"]) == (0, [], 3)


def test_the_saved_version_is_printed_and_it_is_said(
    cli: Cli, looks: Path, home: Path, edit: Callable[[str, str], None]
) -> None:
    """A working file that differs is not printed: a print must be traceable."""
    edit("quay-night", QUAY.replace("1.2", "1.9"))
    told = cli("apply", "quay-night", home / "shoot", "--out", home / "prints", "--ledger", looks, "--json")
    assert "the working file differs from quay-night@1; quay-night@1 is used" in told.err
    assert read_provenance(Path(told.json["prints"][0]["path"])).provenance.making.ref == "quay-night@1"


def test_good_frames_are_printed_and_bad_ones_listed(cli: Cli, looks: Path, home: Path) -> None:
    """Status 1; a reason for each bad frame; no print of it; originals are as they were."""
    (home / "shoot" / "text.dng").write_text("not a picture")
    frames = sorted((home / "shoot").iterdir())
    before = [hashlib.sha256(path.read_bytes()).hexdigest() for path in frames]
    told = cli(
        "apply",
        "quay-night@1",
        home / "shoot",
        "gone.dng",
        "--out",
        home / "prints",
        "--ledger",
        looks,
        "--json",
    )
    failed = {Path(one["frame"]).name: one for one in told.json["failed"]}
    assert (told.status, len(told.json["prints"]), set(failed)) == (1, 3, {"text.dng", "gone.dng"})
    assert all(one["code"].startswith("frame-") and one["reason"] for one in failed.values())
    assert len(list((home / "prints").glob("*.jpg"))) == 3
    assert [hashlib.sha256(path.read_bytes()).hexdigest() for path in frames] == before
    said = cli(
        "apply", "quay-night@1", home / "shoot", "gone.dng", "--out", home / "prints", "--ledger", looks
    )
    assert "3 there already" in said.out
    assert "2 frames failed:" in said.out


def test_only_bad_frames(cli: Cli, looks: Path, home: Path) -> None:
    """One frame asked and failed is status 1, and leaves no print."""
    told = cli("apply", "tram-fog", "gone.dng", "--out", home / "prints", "--ledger", looks)
    assert told.status == 1
    assert "frame-missing" in told.out
    assert list((home / "prints").glob("*.jpg")) == []


def test_real_bad_files_beside_a_good_one(raws: Path, cli: Cli, looks: Path, home: Path) -> None:
    """Each real broken file has its own reason and no print; the good frame has its print."""
    told = cli(
        "apply",
        "tram-fog",
        raws / "bad",
        home / "shoot" / "quay-01.dng",
        "--out",
        home / "prints",
        "--ledger",
        looks,
        "--json",
    )
    bad = sorted(path.name for path in (raws / "bad").iterdir())
    assert told.status == 1
    assert sorted(Path(one["frame"]).name for one in told.json["failed"]) == bad
    assert len({one["reason"] for one in told.json["failed"]}) == len(bad)
    assert [path.name for path in (home / "prints").glob("*.jpg")] == ["quay-01-tram-fog-3.jpg"]


def test_a_recipe_file_needs_no_ledger(cli: Cli, home: Path, made: Path) -> None:
    """The file's text goes into the print, since no ledger holds it."""
    (home / "dusk.toml").write_text("[curve]\nslope = 1.1\n")
    told = cli("apply", "dusk.toml", made / "shoot" / "quay-01.dng", "--out", home / "prints", "--json")
    told_of = read_provenance(Path(told.json["prints"][0]["path"])).provenance
    assert (told_of.making.ref, told_of.recipe_text) == (None, "[curve]\nslope = 1.1\n")


@pytest.mark.parametrize(
    ("more", "code"),
    [
        (["tram-fog", "shoot", "--out", "shoot/quay-01.dng"], "output-not-a-folder"),
        (["tram-fog", "empty", "--out", "prints"], "no-frames"),
        (["tram-fog", "shoot", "--out", "prints", "--quality", "0"], "quality-out-of-range"),
        (["tram-fog", "shoot", "--out", "prints", "--size", "0"], "size-out-of-range"),
        (["tram-fog", "shoot", "--out", "prints", "--purpose", "wedding"], "unknown-purpose"),
        (["tram-fog", "shoot", "--out", "prints", "--scheduler", "tcp://127.0.0.1:1"], "no-"),
        (["Tram Fog", "shoot", "--out", "prints"], "bad-name"),
        (["harbour", "shoot", "--out", "prints"], "no-such-recipe"),
        (["draft", "shoot", "--out", "prints"], "recipe-not-saved"),
        (["gone.toml", "shoot", "--out", "prints"], "recipe-missing"),
    ],
)
def test_what_cannot_be_done_at_all(
    more: list[str], code: str, cli: Cli, looks: Path, home: Path, edit: Callable[[str, str], None]
) -> None:
    """Status 2, one error, nothing on standard output, no print."""
    (home / "empty").mkdir()
    edit("draft", QUAY)
    told = cli("apply", *more, "--ledger", looks, "--json")
    assert (told.status, told.out) == (2, "")
    assert told.err.startswith(f"error [{code}")
    assert not (home / "prints").exists() or list((home / "prints").glob("*.jpg")) == []
