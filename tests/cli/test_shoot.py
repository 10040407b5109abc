"""``shoot`` and ``set-aside``: what came in, what is printed, what is still to do."""

from __future__ import annotations

from pathlib import Path

import pytest

import demo_frames
from batch.shoot import write_frame
from cli.conftest import Cli
from driftline.batch.hints import shutter
from driftline.frames import RawFrame
from driftline.ledger import Ledger
from frames.written import MODEL, TAKEN, exif_block, picture


def test_frames_with_their_state(cli: Cli, looks: Path, home: Path) -> None:
    """Each frame with its rendering and state; printed ones name recipe and version; the counts add up."""
    frame = home / "shoot" / "quay-02.dng"
    line = {"frame": RawFrame(frame).fingerprint(), "ref": "tram-fog@3", "name": frame.name, "print": "a.jpg"}
    Ledger.open(looks).record_run(2031, "first", [line])
    told = cli("shoot", "shoot", "--ledger", looks, "--json").json
    states = [(one["state"], one["recipe"], one["version"]) for one in told["frames"]]
    assert states == [("undeveloped", None, None), ("printed", "tram-fog", "3"), ("undeveloped", None, None)]
    assert [Path(one["path"]).name for one in told["frames"]] == [f"quay-0{n}.dng" for n in (1, 2, 3)]
    assert (told["counts"]["undeveloped"], told["counts"]["printed"]) == (2, 1)


def test_no_ledger_is_needed_to_look(cli: Cli, made: Path) -> None:
    """Without one every frame is undeveloped; one that was named must be there."""
    told = cli("shoot", made / "shoot")
    assert (told.status, told.out.splitlines()[-1][:18]) == (0, "3 of 3 frames wait")
    assert cli("shoot", made / "shoot", "--ledger", "nowhere").status == 2


def test_a_frame_without_a_rendering_is_said(cli: Cli, home: Path) -> None:
    """In the document it is null, in the text a remark at the end of its line; one that is there is told."""
    assert cli("shoot", demo_frames.named("night-wide"), "--json").json["frames"][0]["camera_rendering"]
    write_frame(home / "alone.dng", rendering=False)
    assert cli("shoot", "alone.dng", "--json").json["frames"][0]["camera_rendering"] is None
    assert cli("shoot", "alone.dng").out.splitlines()[0].endswith("no camera rendering")


def test_an_empty_folder_and_a_missing_one(cli: Cli, home: Path) -> None:
    """An empty shoot is told as empty; a missing folder is an error."""
    (home / "empty").mkdir()
    assert cli("shoot", "empty").out == "no raw files here\n"
    assert cli("shoot", "empty", "--json").json["frames"] == []
    told = cli("shoot", "gone")
    assert (told.status, told.out) == (2, "")


def test_a_shoot_is_closed_once(cli: Cli, looks: Path) -> None:
    """Undeveloped frames are set aside; the second time nothing is left; nothing is moved or deleted."""
    told = cli("set-aside", "shoot", "--ledger", looks, "--json").json
    assert (told["set_aside"], told["counts"]["set-aside"], told["counts"]["undeveloped"]) == (3, 3, 0)
    again = cli("set-aside", "shoot", "--ledger", looks)
    assert again.out == "nothing was left to be set aside; 0 printed, 3 set aside in all\n"
    assert cli("shoot", "shoot", "--ledger", looks).out.splitlines()[-1] == "nothing waits"
    assert len(list((looks.parent / "shoot").iterdir())) == 3


def test_shutter_times_read_as_on_a_dial() -> None:
    """Marked shutter times come out as marked: ISO 516 lists 1/250, 1/60, 1/2 and whole seconds."""
    assert [shutter(s) for s in (1 / 250, 1 / 60, 0.3, 1.0, 30.0)] == [
        "1/250 s",
        "1/60 s",
        "1/3 s",
        "1 s",
        "30 s",
    ]


def test_a_later_version_is_a_fact(cli: Cli, looks: Path, home: Path) -> None:
    """Printed with @2 while there is @3: both are told, and nothing waits for it."""
    frame = home / "shoot" / "quay-02.dng"
    Ledger.open(looks).record_run(
        2031, "first", [{"frame": RawFrame(frame).fingerprint(), "ref": "tram-fog@2"}]
    )
    told = cli("shoot", frame, "--ledger", looks)
    assert told.out.splitlines()[0].startswith("quay-02.dng  printed, tram-fog@2, now @3  ")
    assert told.out.splitlines()[-1] == "nothing waits"
    assert cli("shoot", frame, "--ledger", looks, "--json").json["frames"][0]["now"] == "tram-fog@3"


def test_a_pair_and_an_edit(cli: Cli, home: Path) -> None:
    """The camera's JPEG is named in the document; one that is not the camera's is told in both."""
    frame = write_frame(home / "quay-05.dng", 5)
    exif = exif_block({MODEL: "Quay 2"}, {TAKEN: "2031:03:09 07:41:00"})
    (home / "QUAY-05.JPG").write_bytes(picture(exif=exif))
    assert cli("shoot", frame, "--json").json["frames"][0]["jpeg"] == str(home / "QUAY-05.JPG")
    (home / "QUAY-05.JPG").write_bytes(picture())
    told = cli("shoot", frame, "--json").json["frames"][0]
    assert (told["jpeg"], told["not_the_cameras"]) == (
        None,
        "QUAY-05.JPG beside it is not taken: it names no camera, as one that was saved again",
    )
    assert told["not_the_cameras"] in cli("shoot", frame).out


def test_equal_names_are_told_with_their_places(cli: Cli, home: Path) -> None:
    """Two cards with one numbering: each line says which card; elsewhere names alone are enough."""
    for card, name in (("a", "quay-01.dng"), ("b", "QUAY-01.DNG")):
        (home / "cards" / card).mkdir(parents=True)
        write_frame(home / "cards" / card / name, len(card))
    told = cli("shoot", "cards").out.splitlines()
    assert [line.split()[0] for line in told[:2]] == ["a/quay-01.dng", "b/QUAY-01.DNG"]
    assert cli("shoot", "cards/a").out.split()[0] == "quay-01.dng"
    mixed = cli("shoot", home / "cards" / "a", "cards/b").out.splitlines()
    assert sorted(line.split()[0] for line in mixed[:2]) == ["a/quay-01.dng", "b/QUAY-01.DNG"]


def test_many_frames_are_told_by_folder(
    cli: Cli, looks: Path, home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One line a folder where frames wait, and the summary; each frame on request, and in the document."""
    monkeypatch.setattr("driftline.cli.shoot.MANY", 5)
    days = home / "years" / "2031"
    for day, count in (("05-04", 3), ("05-05", 2), ("06-11", 1)):
        (days / day).mkdir(parents=True)
        for seed in range(count):
            write_frame(days / day / f"quay-0{seed}.dng", seed + 10 * int(day[-2:]))
    (days / "06-11" / "quay-07.dng").write_bytes(b"")
    cli("set-aside", days / "05-04" / "quay-00.dng", days / "05-05", "--ledger", looks)
    told = cli("shoot", "years", "--ledger", looks)
    assert told.out.splitlines()[:4] == [
        "05-04  3 frames  2 wait, 1 set aside",
        "06-11  2 frames  1 wait, 1 unreadable",
        "1 folder more in which nothing waits",
        "told by folder, being many; --each tells of each frame",
    ]
    assert told.out.splitlines()[4].startswith("3 of 7 frames wait")
    assert (told.status, "quay-07.dng" in told.err) == (1, True)
    assert len(cli("shoot", "years", "--each", "--ledger", looks).out.splitlines()) == 8
    assert len(cli("shoot", "years", "--ledger", looks, "--json").json["frames"]) == 7
    assert cli("shoot", days / "05-04", "--ledger", looks).out.startswith("quay-00.dng  set-aside")


def test_many_frames_without_anything_to_do(cli: Cli, looks: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No folder is listed; that nothing waits is said."""
    monkeypatch.setattr("driftline.cli.shoot.MANY", 2)
    assert cli("shoot", "shoot", "--ledger", looks).out.splitlines()[0] == "shoot  3 frames  3 wait"
    cli("set-aside", "shoot", "--ledger", looks)
    told = cli("shoot", "shoot", "--ledger", looks).out.splitlines()
    assert (told[0], told[-1]) == ("1 folder in which nothing waits", "nothing waits")


def test_what_was_set_aside_is_taken_back(cli: Cli, looks: Path) -> None:
    """It waits again; another time there is nothing to take back."""
    cli("set-aside", "shoot", "--ledger", looks)
    told = cli("set-aside", "shoot/quay-02.dng", "--take-back", "--ledger", looks)
    assert told.out == "1 frame taken back; 0 printed, 0 set aside in all\n"
    counts = cli("shoot", "shoot", "--ledger", looks, "--json").json["counts"]
    assert (counts["undeveloped"], counts["set-aside"]) == (1, 2)
    again = cli("set-aside", "shoot/quay-02.dng", "--take-back", "--ledger", looks, "--json").json
    assert again["taken_back"] == 0
