"""Whole runs over small shoots."""

from __future__ import annotations

import hashlib
import os
import shutil
from collections.abc import Iterator
from functools import partial
from pathlib import Path

import pytest
from PIL import Image

from batch.shoot import FORM, LOOK, contents, write_frame, write_shoot
from driftline.batch.order import RunResult
from driftline.batch.pool import WorkerPool
from driftline.batch.run import run_batch
from driftline.errors import PrintError, UsageError
from driftline.frames import sight
from driftline.prints import read_provenance


@pytest.fixture(scope="module")
def pool() -> Iterator[WorkerPool]:
    """One pool of two workers for the whole file."""
    with WorkerPool(2) as opened:
        yield opened


@pytest.fixture
def shoot(tmp_path: Path) -> Path:
    """A folder with three frames."""
    write_shoot(tmp_path / "shoot", 3)
    return tmp_path / "shoot"


def names(result: RunResult) -> list[str]:
    """File names of the prints, in the order of the result."""
    return [Path(one.path).name for one in result.prints]


def codes(result: RunResult) -> dict[str, str]:
    """The code of each failure, by the name of its frame."""
    return {Path(one.frame).name: one.code for one in result.failed}


def test_every_frame_becomes_a_print(shoot: Path, tmp_path: Path, pool: WorkerPool) -> None:
    """Prints stand in the order of the frames, and each names its frame, recipe and version."""
    told: list[tuple[int, int]] = []
    result = run_batch(
        LOOK, [shoot], tmp_path / "out", FORM, pool=pool, progress=lambda *now: told.append(now)
    )
    assert names(result) == [f"quay-0{n}-tram-fog-7.jpg" for n in (1, 2, 3)]
    assert sorted(os.listdir(tmp_path / "out")) == names(result)
    assert told == [(0, 3), (1, 3), (2, 3), (3, 3)]
    assert (result.exit_status, result.skipped) == (0, 0)
    for n, one in enumerate(result.prints, start=1):
        traced = read_provenance(Path(one.path))
        content = (shoot / f"quay-0{n}.dng").read_bytes()
        assert traced.intact
        assert traced.provenance.making == one.making
        assert one.making.fingerprint == hashlib.sha256(content).hexdigest()
        assert (one.making.ref, traced.provenance.commit) == ("tram-fog@7", "ab" * 20)
        with Image.open(one.path) as image:
            assert image.size == (64, 48)


def test_running_again_does_only_what_is_missing(shoot: Path, tmp_path: Path, pool: WorkerPool) -> None:
    """By content, not by date or name: nothing to do, then one lost print, then one renamed frame."""
    out = tmp_path / "out"
    run_batch(LOOK, [shoot], out, FORM, pool=pool)
    first = contents(out)
    again = run_batch(LOOK, [shoot], out, FORM, pool=pool)
    assert (list(again.prints), again.skipped) == ([], 3)
    (out / "quay-02-tram-fog-7.jpg").unlink()
    os.utime(out / "quay-01-tram-fog-7.jpg", (0, 0))
    (shoot / "quay-03.dng").rename(shoot / "renamed.dng")
    third = run_batch(LOOK, [shoot], out, FORM, pool=pool)
    assert (names(third), third.skipped) == (["quay-02-tram-fog-7.jpg"], 2)
    assert contents(out) == first


def test_a_renamed_print_counts(shoot: Path, tmp_path: Path, pool: WorkerPool) -> None:
    """A print in the folder is found by what it says, whatever it is called."""
    out = tmp_path / "out"
    run_batch(LOOK, [shoot], out, FORM, pool=pool)
    (out / "quay-02-tram-fog-7.jpg").rename(out / "for-the-wall.jpg")
    assert run_batch(LOOK, [shoot], out, FORM, pool=pool).skipped == 3


@pytest.mark.parametrize(
    "change",
    [
        {"form": FORM.model_copy(update={"quality": 80})},
        {"look": LOOK.model_copy(update={"text": "curve.slope = 1.2"})},
    ],
    ids=["quality", "text"],
)
def test_another_making_is_not_the_same_print(
    shoot: Path, tmp_path: Path, pool: WorkerPool, change: dict[str, object]
) -> None:
    """Same name, other content: refused with what differs, and printed in its place when asked to."""
    out = tmp_path / "out"
    run_batch(LOOK, [shoot], out, FORM, pool=pool)
    first = contents(out)
    wanted = {"look": LOOK, "form": FORM, **change}
    refused = run_batch(wanted["look"], [shoot], out, wanted["form"], pool=pool)  # type: ignore[arg-type]
    assert set(codes(refused).values()) == {"print-exists"}
    assert "printed before with" in refused.failed[0].reason
    assert contents(out) == first
    anew = run_batch(wanted["look"], [shoot], out, wanted["form"], pool=pool, refresh=True)  # type: ignore[arg-type]
    assert len(anew.prints) == 3
    assert set(contents(out)) == set(first)
    assert contents(out) != first


def test_an_older_version_is_left_unless_refreshed(shoot: Path, tmp_path: Path, pool: WorkerPool) -> None:
    """By name alone, frames printed with @7 stay so and are told; --refresh, or the number, prints @9."""
    out, newer = tmp_path / "out", LOOK.model_copy(update={"ref": "tram-fog@9"})
    run_batch(LOOK, [shoot / "quay-01.dng"], out, FORM, pool=pool)
    kept = run_batch(newer, [shoot], out, FORM, pool=pool, pinned=False)
    assert names(kept) == ["quay-02-tram-fog-9.jpg", "quay-03-tram-fog-9.jpg"]
    assert [(Path(o.frame).name, o.ref) for o in kept.older] == [("quay-01.dng", "tram-fog@7")]
    anew = run_batch(newer, [shoot], out, FORM, pool=pool, pinned=False, refresh=True)
    assert (names(anew), anew.skipped) == (["quay-01-tram-fog-9.jpg"], 2)
    assert (out / "quay-01-tram-fog-7.jpg").exists()


def test_an_older_version_for_another_use_is_no_print_of_this_one(
    shoot: Path, tmp_path: Path, pool: WorkerPool
) -> None:
    """What was printed large with @7 and is asked for small by name is printed small, with @9."""
    out, newer = tmp_path / "out", LOOK.model_copy(update={"ref": "tram-fog@9"})
    run_batch(LOOK, [shoot], out, FORM, pool=pool)
    small = FORM.model_copy(update={"long_edge": 32})
    assert len(run_batch(newer, [shoot], out, small, pool=pool, pinned=False).prints) == 3
    assert len(run_batch(newer, [shoot], out, FORM, pool=pool, pinned=False).older) == 3


def test_an_older_version_beside_this_one(shoot: Path, tmp_path: Path, pool: WorkerPool) -> None:
    """Printed with @7 and with @9, then corrected: by name the print with @9 is made again in its place."""
    out, newer = tmp_path / "out", LOOK.model_copy(update={"ref": "tram-fog@9"})
    for look in (LOOK, newer):
        run_batch(look, [shoot], out, FORM, pool=pool)
    run = partial(run_batch, newer, [shoot], out, FORM, pool=pool, pinned=False)
    assert run().skipped == 3
    again = run(corrections=lambda _: "ev = 0.5")
    assert (names(again), again.older) == ([f"quay-0{n}-tram-fog-9.jpg" for n in (1, 2, 3)], [])


def test_foreign_files_are_left_alone(shoot: Path, tmp_path: Path, pool: WorkerPool) -> None:
    """A file of someone else under our name, a print touched by another program: never overwritten."""
    out = tmp_path / "out"
    out.mkdir()
    (out / "quay-01-tram-fog-7.jpg").write_bytes(b"my holiday")
    assert codes(run_batch(LOOK, [shoot], out, FORM, pool=pool)) == {"quay-01.dng": "print-exists"}
    retouched = out / "quay-02-tram-fog-7.jpg"
    with Image.open(retouched) as image:
        xmp, pixels = image.info["xmp"], image.copy()
    pixels.save(retouched, xmp=xmp)
    before = contents(out)
    for refresh in (False, True):
        result = run_batch(LOOK, [shoot], out, FORM, pool=pool, refresh=refresh)
        assert codes(result) == {"quay-01.dng": "print-exists", "quay-02.dng": "print-altered"}
    assert contents(out) == before


def test_equal_names_and_equal_contents_each_get_a_print(tmp_path: Path, pool: WorkerPool) -> None:
    """Two cards with one numbering, and a file that is there twice: every frame is printed, every time."""
    for card in ("a", "b"):
        write_shoot(tmp_path / card, 1)
    write_frame(tmp_path / "b" / "quay-01.dng", 9)
    shutil.copy(tmp_path / "a" / "quay-01.dng", tmp_path / "a" / "twin.dng")
    (tmp_path / "c").mkdir()
    shutil.copy(tmp_path / "a" / "quay-01.dng", tmp_path / "c" / "quay-01.dng")
    folders = [tmp_path / card for card in "abc"]
    result = run_batch(LOOK, folders, tmp_path / "out", FORM, pool=pool)
    assert len(set(names(result))) == len(os.listdir(tmp_path / "out")) == 4
    again = run_batch(LOOK, reversed(folders), tmp_path / "out", FORM, pool=pool)
    assert (again.skipped, list(again.prints), list(again.failed)) == (4, [], [])


def test_a_later_shoot_of_the_same_numbering(tmp_path: Path, pool: WorkerPool) -> None:
    """A name that holds another frame's print is left to it; the new frame is told apart by its mark."""
    write_shoot(tmp_path / "monday", 1)
    (tmp_path / "tuesday").mkdir()
    write_frame(tmp_path / "tuesday" / "quay-01.dng", 99)
    out = tmp_path / "out"
    run_batch(LOOK, [tmp_path / "monday"], out, FORM, pool=pool)
    second = run_batch(LOOK, [tmp_path / "tuesday"], out, FORM, pool=pool)
    assert len(second.prints) == 1
    assert len(os.listdir(out)) == 2
    assert run_batch(LOOK, [tmp_path / "tuesday", tmp_path / "monday"], out, FORM, pool=pool).skipped == 2


def test_sizes_do_not_collide(shoot: Path, tmp_path: Path, pool: WorkerPool) -> None:
    """A small copy stands beside the full print, under its own name and with the longer side asked for."""
    out, small = tmp_path / "out", FORM.model_copy(update={"long_edge": 32})
    run_batch(LOOK, [shoot], out, FORM, pool=pool)
    result = run_batch(LOOK, [shoot], out, small, pool=pool)
    assert names(result)[0] == "quay-01-tram-fog-7-32.jpg"
    with Image.open(result.prints[0].path) as image:
        assert image.size == (32, 24)


def test_originals_are_not_touched(shoot: Path, pool: WorkerPool) -> None:
    """Prints go into a folder of the shoot; originals keep bytes and times, and prints are no frames."""
    before = {p: (p.read_bytes(), p.stat().st_mtime_ns) for p in shoot.iterdir()}
    for _ in range(2):
        run_batch(LOOK, [shoot], shoot / "prints", FORM, pool=pool)
        run_batch(LOOK, [shoot], shoot, FORM, pool=pool)
    assert {p: (p.read_bytes(), p.stat().st_mtime_ns) for p in before} == before
    assert len(list(shoot.glob("*.jpg"))) == len(list((shoot / "prints").iterdir())) == 3


def test_a_print_never_takes_the_place_of_the_cameras_jpeg(shoot: Path, pool: WorkerPool) -> None:
    """Named like its frame and put beside it: where the camera's JPEG lies it is refused, elsewhere it is
    never taken for the camera's.
    """
    (shoot / "quay-01.jpg").write_bytes(b"the camera's own")
    form = FORM.model_copy(update={"name_parts": ("frame",)})
    for refresh in (False, True):
        result = run_batch(LOOK, [shoot], shoot, form, pool=pool, refresh=refresh)
        assert codes(result) == {"quay-01.dng": "print-exists"}
    assert (shoot / "quay-01.jpg").read_bytes() == b"the camera's own"
    assert sight(shoot / "quay-02.dng", ["quay-02.jpg"]).paired == ""


def test_output_over_an_original_is_refused(shoot: Path, pool: WorkerPool) -> None:
    """A file as output folder, be it an original, is an error before anything is done."""
    original = shoot / "quay-01.dng"
    before = original.read_bytes()
    with pytest.raises(PrintError) as caught:
        run_batch(LOOK, [shoot], original, FORM, pool=pool)
    assert caught.value.code == "output-not-a-folder"
    assert original.read_bytes() == before


@pytest.mark.parametrize(
    ("update", "code"),
    [
        ({"quality": 0}, "quality-out-of-range"),
        ({"quality": 101}, "quality-out-of-range"),
        ({"long_edge": 3}, "size-out-of-range"),
        ({"name_parts": ("recipe",)}, "unknown-name-part"),
    ],
)
def test_requests_that_make_no_sense(
    shoot: Path, tmp_path: Path, pool: WorkerPool, update: dict[str, object], code: str
) -> None:
    """Quality, size and name are checked before the first frame."""
    with pytest.raises(UsageError) as caught:
        run_batch(LOOK, [shoot], tmp_path / "out", FORM.model_copy(update=update), pool=pool)
    assert caught.value.code == code


def test_relative_paths_mean_the_callers_folder(
    shoot: Path, tmp_path: Path, pool: WorkerPool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Workers were started elsewhere: prints stand where the caller is, and are told as they were asked."""
    pool.submit(len, "started").result()
    (shoot / "quay-02.dng").write_bytes(b"")
    monkeypatch.chdir(tmp_path)
    for _ in range(2):
        result = run_batch(LOOK, ["shoot"], "out", FORM, pool=pool)
        assert [one.frame for one in result.failed] == ["shoot/quay-02.dng"]
        assert result.failed[0].reason.startswith("shoot/quay-02.dng: the file is empty")
        assert len(result.prints) + result.skipped == 2
    assert sorted(os.listdir(tmp_path / "out")) == ["quay-01-tram-fog-7.jpg", "quay-03-tram-fog-7.jpg"]
    with monkeypatch.context() as there:
        there.chdir(shoot)
        first = run_batch(LOOK, ["quay-01.dng"], "prints", FORM, pool=pool).prints[0]
    assert (first.frame, first.path) == ("quay-01.dng", "prints/quay-01-tram-fog-7.jpg")
    assert (shoot / first.path).is_file()


def test_nothing_to_print_is_an_error(tmp_path: Path, pool: WorkerPool) -> None:
    """A folder without raw files."""
    (tmp_path / "empty").mkdir()
    with pytest.raises(UsageError) as caught:
        run_batch(LOOK, [tmp_path / "empty"], tmp_path / "out", FORM, pool=pool)
    assert caught.value.code == "no-frames"
    assert not (tmp_path / "out").exists()
