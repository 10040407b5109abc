"""``trace``: what made a print, and the print made again."""

from __future__ import annotations

import shutil
from pathlib import Path

import exifread
import pytest
from PIL import Image

from batch.shoot import add_location
from cli.conftest import Cli
from driftline.batch import apply, look_of
from driftline.batch.job import print_frame
from driftline.batch.order import Form, Job
from driftline.ledger import Ledger
from driftline.recipe import Likeness, likeness_text
from driftline.recipe.likeness import TONE_STOPS


@pytest.fixture
def printed(looks: Path, home: Path) -> Path:
    """A print of quay-01 by tram-fog@3, under a name of its own, away from the shoot."""
    (home / "wall").mkdir()
    look, _ = look_of(Ledger.open(looks), "tram-fog")
    target = home / "wall" / "picture.jpg"
    frame = home / "shoot" / "quay-01.dng"
    print_frame(Job(frame=frame, target=target, look=look, form=Form()).model_dump(mode="json"))
    return target


def test_a_print_says_what_made_it(cli: Cli, printed: Path, looks: Path) -> None:
    """Recipe, version, commit, frame, edition, and whether the picture is ours, whatever its name."""
    told = cli("trace", printed, "--json").json
    version = Ledger.open(looks).version("tram-fog")
    assert (told["recipe"], told["version"], told["ref"]) == ("tram-fog", "3", "tram-fog@3")
    assert (told["commit"], told["intact"], told["edition"] >= 1) == (version.commit, True, True)
    assert told["frame"]["name"] == "quay-01.dng"
    assert "tram-fog@3" in cli("trace", printed).out


def test_a_frame_smaller_than_the_size_asked_for(cli: Cli, looks: Path, home: Path) -> None:
    """Nothing is enlarged, and trace does not say it was; a smaller print is told by its size."""
    cli("apply", "tram-fog", "shoot/quay-01.dng", "--out", "prints", "--size", "4000", "--ledger", looks)
    cli("apply", "tram-fog", "shoot/quay-01.dng", "--out", "prints", "--size", "40", "--ledger", looks)
    large, small = (home / "prints" / f"quay-01-tram-fog-3-{size}.jpg" for size in (4000, 40))
    with Image.open(large) as picture:
        edge = max(picture.size)
    told = cli("trace", large).out
    assert f"size        as taken, {edge} px on the longer side; 4000 at most were asked for" in told
    assert "size        40 px on the longer side\n" in cli("trace", small).out


def test_a_print_saved_elsewhere_is_told_honestly(cli: Cli, printed: Path, home: Path) -> None:
    """Saved again with our words kept: not intact, and the text says what is still ours."""
    with Image.open(printed) as picture:
        picture.save(home / "again.jpg", quality=50, xmp=picture.info["xmp"])
    assert cli("trace", home / "again.jpg", "--json").json["intact"] is False
    assert "saved again or changed" in cli("trace", home / "again.jpg").out


def test_it_is_made_again_byte_for_byte(cli: Cli, printed: Path, looks: Path, home: Path) -> None:
    """The frame is found by name in a folder beside, the recipe in the ledger; the file is the same."""
    told = cli("trace", printed, "--remake", "again.jpg", "--ledger", looks, "--json").json
    assert told["remade"]["same_pixels"] is True
    assert (home / "again.jpg").read_bytes() == printed.read_bytes()


@pytest.mark.parametrize("purpose", ["display", "archive"])
@pytest.mark.parametrize("keep", [True, False])
def test_a_location_that_was_kept_is_kept_again(
    cli: Cli, looks: Path, home: Path, purpose: str, keep: bool
) -> None:
    """The print tells whether it was asked for; without, the new one has none either."""
    add_location(home / "shoot" / "quay-01.dng")
    asked = ["--keep-location"] if keep else []
    cli(
        "apply",
        "tram-fog",
        "shoot/quay-01.dng",
        "--out",
        "out",
        "--purpose",
        purpose,
        *asked,
        "--ledger",
        looks,
    )
    (printed,) = (home / "out").iterdir()
    told = cli("trace", printed, "--remake", "again", "--frames", "shoot", "--ledger", looks, "--json").json
    assert (told["located"], told["remade"]["remarks"]) == (keep, [])
    assert (home / "again").read_bytes() == printed.read_bytes()
    with (home / "again").open("rb") as file:
        assert ("GPS GPSLatitude" in exifread.process_file(file)) == keep


def test_a_renamed_frame_is_found_by_content(cli: Cli, printed: Path, looks: Path, home: Path) -> None:
    """In the folders of ``--frames`` the fingerprint decides, not the name."""
    shutil.move(home / "shoot", home / "archive")
    (home / "archive" / "quay-01.dng").rename(home / "archive" / "pier.dng")
    told = cli("trace", printed, "--remake", "a.jpg", "--frames", "archive", "--ledger", looks, "--json").json
    assert Path(told["remade"]["frame"]).name == "pier.dng"
    lost = cli("trace", printed, "--remake", "b.jpg", "--ledger", looks)
    assert (lost.status, "frame-not-found" in lost.err, (home / "b.jpg").exists()) == (2, True, False)


def test_another_frame_of_the_same_name_is_not_taken(
    cli: Cli, printed: Path, looks: Path, home: Path
) -> None:
    """A file that only has the name is passed over."""
    shutil.copy(home / "shoot" / "quay-02.dng", home / "shoot" / "quay-01.dng")
    told = cli("trace", printed, "--remake", "again.jpg", "--frames", "shoot", "--ledger", looks)
    assert (told.status, "frame-not-found" in told.err) == (2, True)


def test_without_the_ledger_it_says_what_is_missing(cli: Cli, printed: Path, home: Path) -> None:
    """The recipe's text is neither in the print nor at hand: the version it needs is named."""
    told = cli("trace", printed, "--remake", "again.jpg")
    assert (told.status, told.out) == (2, "")
    assert "tram-fog@3" in told.err
    assert "--ledger" in told.err


def test_without_the_ledger_the_text_in_the_print_will_do(cli: Cli, looks: Path, home: Path) -> None:
    """``apply --recipe-in-print``: said by trace, and made again byte for byte where there is no ledger."""
    told = cli(
        "apply", "tram-fog", "shoot/quay-01.dng", "--out", "prints", "--recipe-in-print", "--ledger", looks
    )
    assert told.status == 0
    (path,) = (home / "prints").iterdir()
    looks.rename(home / "away")
    assert "tram-fog@3, its text in the print" in cli("trace", path).out
    told = cli("trace", path, "--remake", "again.jpg", "--frames", "shoot", "--json")
    assert (told.status, told.json["remade"]["same_pixels"]) == (0, True)
    assert (home / "again.jpg").read_bytes() == path.read_bytes()


def test_nothing_is_overwritten(cli: Cli, printed: Path, looks: Path) -> None:
    """A file that stands where the print should go stays: the print itself, above all."""
    before = printed.read_bytes()
    assert cli("trace", printed, "--remake", printed, "--ledger", looks).status == 2
    assert printed.read_bytes() == before


@pytest.mark.parametrize("name", ["gone.jpg", "shoot", "shoot/quay-01.dng", "looks/settings.toml"])
def test_what_is_no_print(name: str, cli: Cli, looks: Path) -> None:
    """A missing file, a folder, a raw file, a text: each an error in words."""
    told = cli("trace", name)
    assert (told.status, told.out) == (2, "")
    assert told.err.startswith(("error [print-missing]", "error [not-a-print]"))


def test_a_likeness_of_that_time_is_found(cli: Cli, looks: Path, home: Path) -> None:
    """Learned anew twice since: a print is made again with the one it names, out of the ledger's past."""
    ledger = Ledger.open(looks)
    tones = [tuple(factor * stop for stop in TONE_STOPS) for factor in (1.2, 1.1, 1.0)]
    learned = [Likeness(camera="Quay 2", matrix=(1, 0, 0, 0, 1, 0, 0, 0, 1), tone=tone) for tone in tones]
    ledger.keep_likeness(learned[0].name, likeness_text(learned[0]))
    made = apply(ledger, "tram-fog", [home / "shoot" / "quay-01.dng"], home / "out", workers=1).prints[0]
    for later in learned[1:]:
        ledger.keep_likeness(later.name, likeness_text(later))
    told = cli(
        "trace", made.path, "--remake", "again.jpg", "--frames", "shoot", "--ledger", looks, "--json"
    ).json
    assert told["likeness"] == f"{learned[0].name}:{learned[0].digest()}"
    assert (told["remade"]["same_pixels"], told["remade"]["same_picture"]) == (True, True)


def test_correction_and_likeness_are_told(cli: Cli, looks: Path, home: Path) -> None:
    """In words and in the document; where there is none, that is said."""
    frame = home / "shoot" / "quay-01.dng"
    assert cli("correct", frame, "--ev", "0.3", "--turn", "0.8", "--ledger", looks).status == 0
    made = apply(Ledger.open(looks), "tram-fog", [frame], home / "out", workers=1).prints[0]
    lines = cli("trace", made.path).out.splitlines()
    assert "  correction  exposure +0.30 EV, turned +0.8°" in lines
    assert "  likeness    none: the general rendering" in lines
    assert "ev = 0.3" in cli("trace", made.path, "--json").json["correction"]
