"""A ledger's recipe over a shoot, and what the ledger knows afterwards."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future
from functools import partial
from pathlib import Path
from typing import Any

import exifread
import pytest
from lxml import etree
from PIL import Image

from batch.shoot import add_location, write_frame, write_shoot
from driftline.batch import RunResult, apply, look_of, run_batch
from driftline.batch.pool import WorkerPool
from driftline.errors import DriftlineError, LedgerError, PrintError, UsageError
from driftline.ledger import Ledger
from driftline.prints import read_provenance, remake
from driftline.recipe import Likeness, likeness_text
from driftline.recipe.likeness import TONE_STOPS

TRAM_FOG = 'name = "tram-fog"\n[curve]\nslope = 1.15\n'


@pytest.fixture(scope="module")
def pool() -> Iterator[WorkerPool]:
    """One pool of two workers for the whole file."""
    with WorkerPool(2) as opened:
        yield opened


@pytest.fixture
def ledger(tmp_path: Path) -> Ledger:
    """A ledger with one recipe at one version, and credit in its settings."""
    text = '[credit]\ncreator = "Ines Okoro"\nrights = "free to show"\n'
    return Ledger.create(tmp_path / "looks", {"tram-fog": TRAM_FOG}, settings_text=text)


@pytest.fixture
def shoot(tmp_path: Path) -> Path:
    """A folder with three frames."""
    write_shoot(tmp_path / "shoot", 3)
    return tmp_path / "shoot"


def recorded(ledger: Ledger) -> list[tuple[str, str, str]]:
    """Frame, version and print of every line of the record."""
    return sorted((r.line["name"], r.line["ref"], r.line["print"]) for r in ledger.printed())


def test_a_saved_version_is_printed_and_recorded(
    ledger: Ledger, shoot: Path, tmp_path: Path, pool: WorkerPool
) -> None:
    """Prints name the version and its commit; one commit of the ledger says what was printed; once."""
    result = apply(ledger, "tram-fog", [shoot], tmp_path / "out", pool=pool)
    assert (len(result.prints), result.unrecorded) == (3, "")
    version = ledger.version("tram-fog")
    traced = read_provenance(Path(result.prints[0].path)).provenance
    assert (traced.making.ref, traced.commit, traced.recipe_text) == (version.ref, version.commit, None)
    ref = version.ref
    names = [f"quay-0{n}" for n in (1, 2, 3)]
    assert recorded(ledger) == [(f"{n}.dng", ref, f"{n}-tram-fog-{version.version}.jpg") for n in names]
    assert {record.line["shoot"] for record in ledger.printed()} == {"shoot"}
    apply(ledger, "tram-fog", [shoot], tmp_path / "out", pool=pool)
    assert len(recorded(ledger)) == 3


def test_credit_comes_from_the_settings(
    ledger: Ledger, shoot: Path, tmp_path: Path, pool: WorkerPool
) -> None:
    """Creator and rights of the settings stand in the print (Dublin Core, read as text)."""
    result = apply(ledger, "tram-fog", [shoot / "quay-01.dng"], tmp_path / "out", pool=pool)
    with Image.open(result.prints[0].path) as image:
        packet = image.info["xmp"].decode()
    assert "<rdf:li>Ines Okoro</rdf:li>" in packet
    assert "free to show" in packet


def test_prints_that_a_killed_run_left_are_recorded(
    ledger: Ledger, shoot: Path, tmp_path: Path, pool: WorkerPool
) -> None:
    """A print that is there but in no record (the run was killed before it wrote) is recorded by the next."""
    look, _ = look_of(ledger, "tram-fog")
    run_batch(look, [shoot], tmp_path / "out", pool=pool)
    assert recorded(ledger) == []
    again = apply(ledger, "tram-fog", [shoot], tmp_path / "out", pool=pool)
    assert (len(again.prints), again.skipped, len(recorded(ledger))) == (0, 3, 3)


def test_older_versions_are_left_and_numbers_are_obeyed(
    ledger: Ledger, shoot: Path, tmp_path: Path, pool: WorkerPool
) -> None:
    """After a new save: by name nothing is printed twice, with --refresh or by number it is."""
    first, out = ledger.version("tram-fog").ref, tmp_path / "out"
    apply(ledger, "tram-fog", [shoot], out, pool=pool)
    second = ledger.save("tram-fog", TRAM_FOG.replace("1.15", "1.25")).ref
    by_name = apply(ledger, "tram-fog", [shoot], out, pool=pool)
    assert (len(by_name.prints), [o.ref for o in by_name.older]) == (0, [first] * 3)
    one = apply(ledger, second, [shoot / "quay-01.dng"], out, pool=pool)
    assert one.prints[0].making.ref == second
    rest = apply(ledger, "tram-fog", [shoot], out, pool=pool, refresh=True)
    assert (len(rest.prints), rest.skipped) == (2, 1)
    assert len(recorded(ledger)) == 6


def test_a_versions_text_goes_into_the_print_when_asked(
    ledger: Ledger, shoot: Path, tmp_path: Path, pool: WorkerPool
) -> None:
    """A print with or without it is the same print; only --refresh puts it in, or takes it out."""
    frame, out = shoot / "quay-01.dng", tmp_path / "out"
    run = partial(apply, ledger, "tram-fog", [frame], out, pool=pool)
    path = Path(run().prints[0].path)
    assert read_provenance(path).provenance.recipe_text is None
    assert run(recipe_in_print=True).skipped == 1
    assert len(run(recipe_in_print=True, refresh=True).prints) == 1
    assert read_provenance(path).provenance.recipe_text == ledger.text("tram-fog")
    assert run(recipe_in_print=True, refresh=True).skipped == run().skipped == 1
    assert len(run(refresh=True).prints) == 1
    assert read_provenance(path).provenance.recipe_text is None


def test_a_recipe_file_prints_without_a_ledger(shoot: Path, tmp_path: Path, pool: WorkerPool) -> None:
    """A file is no version: its text goes into the print, so that it stays traceable."""
    path = tmp_path / "dusk.toml"
    path.write_text("[curve]\nslope = 1.1  # firm\n")
    result = apply(None, path, [shoot / "quay-01.dng"], tmp_path / "out", pool=pool)
    traced = read_provenance(Path(result.prints[0].path)).provenance
    assert Path(result.prints[0].path).name == "quay-01-dusk.jpg"
    assert (traced.making.recipe, traced.making.ref, traced.version) == ("dusk", None, None)
    assert traced.recipe_text == path.read_text()


@pytest.mark.parametrize(
    ("recipe", "kind"),
    [("tram-fog@99", LedgerError), ("no-such", LedgerError), ("./none.toml", DriftlineError)],
)
def test_an_unknown_recipe_stops_before_anything(
    ledger: Ledger, shoot: Path, tmp_path: Path, recipe: str, kind: type[DriftlineError]
) -> None:
    """No version, no recipe, no file: an error, and not even an output folder."""
    with pytest.raises(kind):
        apply(ledger, recipe, [shoot], tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_a_name_needs_a_ledger(shoot: Path, tmp_path: Path) -> None:
    """Without a ledger only files can be applied."""
    with pytest.raises(UsageError) as caught:
        apply(None, "tram-fog", [shoot], tmp_path / "out")
    assert caught.value.code == "no-ledger"


def test_the_ledgers_bands_judge(ledger: Ledger, shoot: Path, tmp_path: Path, pool: WorkerPool) -> None:
    """The same prints under narrow and wide bands: other verdicts, reached by the settings."""
    frame = write_frame(shoot / "large.dng", 3, height=400, width=600)
    strong = ledger.save("strong", "[exposure]\nev = 0.8\n").ref
    narrow = apply(ledger, strong, [frame], tmp_path / "narrow", pool=pool).prints[0]
    wide_text = "[bands]\n" + "".join(
        f"{key} = {{ notice = 500.0, over = 900.0 }}\n" for key in type(ledger.settings().bands).model_fields
    )
    ledger.save_settings(wide_text)
    wide = apply(ledger, strong, [frame], tmp_path / "wide", pool=pool).prints[0]
    assert (narrow.verdict, narrow.largest) == ("overdone", "exposure")
    assert wide.verdict == "in keeping"


def test_a_correction_is_applied_to_its_frame_alone(
    ledger: Ledger, shoot: Path, tmp_path: Path, pool: WorkerPool
) -> None:
    """Corrected after a run: the next run makes that one print again, in its place, and no other."""
    out = tmp_path / "out"
    first = apply(ledger, "tram-fog", [shoot], out, pool=pool)
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    changed = Path(first.prints[1].path)
    ledger.keep_correction(
        first.prints[1].making.fingerprint, "crop = [0.0, 0.0, 0.5, 1.0]  # the left half\n"
    )
    second = apply(ledger, "tram-fog", [shoot], out, pool=pool)
    assert ([one.path for one in second.prints], second.skipped) == ([str(changed)], 2)
    assert second.prints[0].replaced
    assert {p.name for p in out.iterdir() if p.read_bytes() != before[p.name]} == {changed.name}
    with Image.open(changed) as image:
        assert image.size == (32, 48)
    made = read_provenance(changed)
    assert made.provenance.making.correction is not None
    assert remake(made, shoot / "quay-02.dng", tmp_path / "again.jpg", recipe_text=TRAM_FOG).same_pixels
    assert apply(ledger, "tram-fog", [shoot], out, pool=pool).skipped == 3


def test_a_likeness_is_used_and_told(ledger: Ledger, shoot: Path, tmp_path: Path, pool: WorkerPool) -> None:
    """Learned after a run: prints of that camera are brought up to date, name it, and can be made again."""
    out = tmp_path / "out"
    first = apply(ledger, "tram-fog", [shoot], out, pool=pool)
    assert first.prints[0].making.likeness is None
    tone = tuple(1.2 * stop for stop in TONE_STOPS)
    learned = Likeness(camera="Quay 2", matrix=(1, 0, 0, 0, 1, 0, 0, 0, 1), tone=tone)
    ledger.keep_likeness(learned.name, likeness_text(learned))
    second = apply(ledger, "tram-fog", [shoot], out, pool=pool)
    assert [one.making.likeness for one in second.prints] == [f"{learned.name}:{learned.digest()}"] * 3
    assert apply(ledger, "tram-fog", [shoot], out, pool=pool).skipped == 3
    traced = read_provenance(Path(second.prints[0].path))
    frame, text = Path(second.prints[0].frame), ledger.likeness(learned.name)
    again = remake(traced, frame, tmp_path / "again.jpg", recipe_text=TRAM_FOG, likeness_text=text)
    assert again.same_pixels
    other = likeness_text(learned.model_copy(update={"tone": TONE_STOPS}))
    with pytest.raises(PrintError) as caught:
        remake(traced, frame, tmp_path / "other.jpg", recipe_text=TRAM_FOG, likeness_text=other)
    assert caught.value.code == "likeness-differs"


def test_a_broken_correction_costs_its_frame(
    ledger: Ledger, shoot: Path, tmp_path: Path, pool: WorkerPool
) -> None:
    """A correction that makes no sense: that frame fails with the reason, the others are printed."""
    first = apply(ledger, "tram-fog", [shoot], tmp_path / "a", pool=pool)
    ledger.keep_correction(first.prints[0].making.fingerprint, "ev = 99\n")
    second = apply(ledger, "tram-fog", [shoot], tmp_path / "b", pool=pool)
    assert [Path(one.frame).name for one in second.failed] == ["quay-01.dng"]
    assert second.failed[0].code.startswith("correction-")
    assert len(second.prints) == 2


@pytest.mark.parametrize(
    ("purpose", "suffix", "size"), [("feed", "feed.jpg", (64, 48)), ("archive", "archive.tif", (64, 48))]
)
def test_a_purpose_says_how_prints_are(
    ledger: Ledger,
    shoot: Path,
    tmp_path: Path,
    pool: WorkerPool,
    purpose: str,
    suffix: str,
    size: tuple[int, int],
) -> None:
    """A JPEG under a ceiling, a 16-bit TIFF: by one word, told in the name, and found again."""
    frame = shoot / "quay-01.dng"
    first = apply(ledger, "tram-fog", [frame], tmp_path / "out", pool=pool, purpose=purpose).prints[0]
    assert first.path.endswith(f"-{suffix}")
    assert read_provenance(Path(first.path)).intact
    with Image.open(first.path) as image:
        assert image.size == size
    assert apply(ledger, "tram-fog", [frame], tmp_path / "out", pool=pool, purpose=purpose).skipped == 1


def test_purposes_of_ones_own(ledger: Ledger, shoot: Path, tmp_path: Path, pool: WorkerPool) -> None:
    """A purpose in the settings; what is given besides comes first; an unknown one names those there are."""
    ledger.save_settings("[purposes.wall]\nlong_edge = 40\nquality = 70\n")
    frame, out = shoot / "quay-01.dng", tmp_path / "out"
    making = apply(ledger, "tram-fog", [frame], out, pool=pool, purpose="wall").prints[0].making
    assert (making.long_edge, making.quality, making.space) == (40, 70, "srgb")
    other = apply(ledger, "tram-fog", [frame], tmp_path / "p", pool=pool, purpose="wall", quality=80).prints[
        0
    ]
    assert (other.making.long_edge, other.making.quality) == (40, 80)
    with pytest.raises(UsageError, match="display, feed, portfolio, lab, archive, wall") as caught:
        apply(ledger, "tram-fog", [frame], out, pool=pool, purpose="poster")
    assert caught.value.code == "unknown-purpose"


def test_names_from_the_settings(ledger: Ledger, shoot: Path, tmp_path: Path, pool: WorkerPool) -> None:
    """Date, frame, recipe and version joined by hyphens; the shoot was taken on 9 March 2031."""
    ledger.save_settings('file_name = ["date", "frame", "recipe", "version"]\n')
    result = apply(ledger, "tram-fog", [shoot], tmp_path / "out", pool=pool)
    names = [f"20310309-quay-0{n}-tram-fog-1.jpg" for n in (1, 2, 3)]
    assert [Path(one.path).name for one in result.prints] == names
    assert apply(ledger, "tram-fog", [shoot], tmp_path / "out", pool=pool).skipped == 3


def test_names_never_collide(ledger: Ledger, shoot: Path, tmp_path: Path, pool: WorkerPool) -> None:
    """Names of the frame alone: another purpose, size, version or recipe stands beside, under a longer name,
    and each is found again.
    """
    ledger.save_settings('file_name = ["frame"]\n[purposes.wall]\nlong_edge = 40\n')
    dusk = ledger.save("dusk", "[curve]\nslope = 1.3\n").ref
    first = ledger.version("tram-fog").ref
    second = ledger.save("tram-fog", TRAM_FOG.replace("1.15", "1.25")).ref
    frame, out = shoot / "quay-01.dng", tmp_path / "out"
    asked = [(first, {}), (first, {"purpose": "wall"}), (first, {"size": 32}), (second, {}), (dusk, {})]
    for ref, more in asked:
        assert len(apply(ledger, ref, [frame], out, pool=pool, **more).prints) == 1, (ref, more)
    assert sorted(os.listdir(out)) == [
        "quay-01-2.jpg",
        "quay-01-32.jpg",
        "quay-01-dusk-1.jpg",
        "quay-01-wall.jpg",
        "quay-01.jpg",
    ]
    for ref, more in asked:
        again = apply(ledger, ref, [frame], out, pool=pool, **more)
        assert (again.skipped, list(again.failed)) == (1, []), (ref, more)


def test_a_purpose_with_everything(ledger: Ledger, shoot: Path, tmp_path: Path, pool: WorkerPool) -> None:
    """Size, ceiling, acutance and space of a purpose of one's own hold, and the print can be made again."""
    ledger.save_settings(
        "[purposes.wall]\nlong_edge = 400\nceiling_bytes = 20000\nacutance = 0.8\nspace = 'display-p3'\n"
        "[purposes.keep]\nencoding = 'tiff'\nlong_edge = 40\nacutance = 0.5\n"
    )
    frame = write_frame(shoot / "large.dng", 3, height=400, width=600)
    wall = apply(ledger, "tram-fog", [frame], tmp_path / "out", pool=pool, purpose="wall").prints[0]
    assert Path(wall.path).stat().st_size <= 20_000
    assert (wall.making.acutance, wall.making.space, wall.making.long_edge) == (0.8, "display-p3", 400)
    with Image.open(wall.path) as image:
        assert image.size == (400, 267)
    assert remake(
        read_provenance(Path(wall.path)), frame, tmp_path / "again.jpg", recipe_text=TRAM_FOG
    ).same_pixels
    plain = apply(ledger, "tram-fog", [frame], tmp_path / "plain", pool=pool, size=400).prints[0]
    told = [read_provenance(Path(one.path)).provenance.pixels for one in (wall, plain)]
    assert told[0] != told[1]
    keep = apply(ledger, "tram-fog", [frame], tmp_path / "out", pool=pool, purpose="keep").prints[0]
    assert (keep.making.encoding, keep.making.quality, keep.making.acutance) == ("tiff", None, 0.5)


def test_metadata_read_by_others(ledger: Ledger, shoot: Path, tmp_path: Path, pool: WorkerPool) -> None:
    """exifread, Pillow and lxml on prints of a frame with a location and a serial number: camera, exposure
    and time are there; caption, creator and rights stand in XMP as the IPTC Core has them (Dublin Core);
    maker notes, serial number, location and thumbnail are not there; the pixels are upright.
    """
    ledger.save_settings(
        '[credit]\ncreator = "Ines Okoro"\nrights = "free to show"\ncaption = "wet <tram> & rain"\n'
    )
    frame = shoot / "quay-01.dng"
    add_location(frame)
    for purpose in ("lab", "archive"):
        path = Path(
            apply(ledger, "tram-fog", [frame], tmp_path / "out", pool=pool, purpose=purpose).prints[0].path
        )
        with path.open("rb") as file:
            tags = exifread.process_file(file, details=True)
        assert (str(tags["Image Model"]), str(tags["EXIF ISOSpeedRatings"])) == ("Quay 2", "400")
        assert str(tags["EXIF DateTimeOriginal"]) == "2031:03:09 07:41:00"
        odd = [name for name in tags if re.search("gps|makernote|serial|owner|thumb", name, re.IGNORECASE)]
        assert odd == []
        with Image.open(path) as image:
            assert image.getexif().get(274, 1) == 1
            packet = image.info["xmp"] if "xmp" in image.info else image.tag_v2[700]
        root = etree.fromstring(packet)
        names = {
            "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
            "dc": "http://purl.org/dc/elements/1.1/",
        }
        told = [
            root.findtext(f".//dc:{n}//rdf:li", None, names) for n in ("creator", "rights", "description")
        ]
        assert told == ["Ines Okoro", "free to show", "wet <tram> & rain"]
        assert b"SN-0815" not in path.read_bytes()


def test_location_only_when_asked(tmp_path: Path, ledger: Ledger, shoot: Path, pool: WorkerPool) -> None:
    """A frame with a location: the print has none, unless it is asked to keep it."""
    frame = shoot / "quay-01.dng"
    add_location(frame)
    for keep in (False, True):
        out = tmp_path / f"out-{keep}"
        result = apply(ledger, "tram-fog", [frame], out, pool=pool, keep_location=keep)
        with Image.open(result.prints[0].path) as image:
            gps = image.getexif().get_ifd(0x8825)
        assert bool(gps) == keep
        assert not keep or [float(part) for part in gps[2]] == [33.0, 30.0, 0.0]


class FirstAlone(Executor):
    """Makes the first print; of the others nothing is ever heard."""

    def __init__(self, pool: WorkerPool) -> None:
        self._pool, self._given = pool, 0

    def submit(self, call: Callable[..., Any], /, *arguments: Any, **_: Any) -> Future[Any]:
        """Hand on the first call."""
        self._given += 1
        return self._pool.submit(call, *arguments) if self._given == 1 else Future()


def test_a_resumed_run_speaks_of_all_its_frames(tmp_path: Path, ledger: Ledger, pool: WorkerPool) -> None:
    """Stopped after its first print and run again: the same words on drift and exposure as an undisturbed
    run; with the index thrown away it says of how many prints nothing is known, and makes none again.
    """
    frames = [write_frame(tmp_path / f"quay-{n}.dng", n, height=240, width=360) for n in range(3)]
    whole = apply(ledger, "tram-fog", frames, tmp_path / "whole", pool=pool)
    out, index = tmp_path / "out", ledger.private / "frames.sqlite"
    index.unlink()

    def stop(done: int, _: int) -> None:
        if done:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        apply(ledger, "tram-fog", frames, out, pool=FirstAlone(pool), progress=stop)
    rest = apply(ledger, "tram-fog", frames, out, pool=pool)
    assert (rest.skipped, rest.asked, len(rest.measured)) == (1, 3, 3)
    assert whole.spread is not None
    assert rest.spread == whole.spread
    assert [one.verdict for one in rest.measured] == [one.verdict for one in whole.prints]
    again = apply(ledger, "tram-fog", frames, out, pool=pool)
    assert (len(again.prints), again.spread) == (0, whole.spread)
    index.unlink()
    forgotten = apply(ledger, "tram-fog", frames, out, pool=pool)
    assert (forgotten.skipped, list(forgotten.measured), forgotten.spread) == (3, [], None)


def test_a_location_comes_and_goes_when_asked(
    tmp_path: Path, ledger: Ledger, shoot: Path, pool: WorkerPool
) -> None:
    """A print with a location is none without one, nor the other way round: it is said, and ``refresh``
    prints it again; a frame that has no location is there already either way.
    """
    frames, out = [shoot / "quay-01.dng", shoot / "quay-02.dng"], tmp_path / "out"
    add_location(frames[0])

    def run(*, keep: bool, refresh: bool = False) -> RunResult:
        return apply(ledger, "tram-fog", frames, out, pool=pool, keep_location=keep, refresh=refresh)

    printed = Path(run(keep=False).prints[0].path)
    for keep, word in ((True, "no location in it"), (False, "its location in it")):
        left = run(keep=keep)
        (failed,) = left.failed
        assert (failed.code, word in failed.reason, left.skipped) == ("print-exists", True, 1)
        again = run(keep=keep, refresh=True)
        assert [one.path for one in again.prints] == [str(printed)]
        with Image.open(printed) as image:
            assert bool(image.getexif().get_ifd(0x8825)) == keep
        assert run(keep=keep).skipped == 2


def test_a_credit_given_later_comes_with_refresh(
    tmp_path: Path, ledger: Ledger, shoot: Path, pool: WorkerPool
) -> None:
    """Prints are not made again for a word about them, unless that is asked for; then once."""
    frames, out = [shoot / "quay-01.dng"], tmp_path / "out"
    (one,) = apply(ledger, "tram-fog", frames, out, pool=pool).prints
    ledger.save_settings('[credit]\ncreator = "Ines Okoro"\n')
    assert apply(ledger, "tram-fog", frames, out, pool=pool).skipped == 1
    assert len(apply(ledger, "tram-fog", frames, out, pool=pool, refresh=True).prints) == 1
    assert read_provenance(Path(one.path)).credit.creator == "Ines Okoro"
    assert apply(ledger, "tram-fog", frames, out, pool=pool, refresh=True).skipped == 1


def test_the_document_holds_what_is_promised(
    ledger: Ledger, shoot: Path, tmp_path: Path, pool: WorkerPool
) -> None:
    """``apply --json``: prints, failed, skipped and seconds, each with what was promised of it."""
    (shoot / "quay-02.dng").write_bytes(b"")
    result: RunResult = apply(ledger, "tram-fog", [shoot], tmp_path / "out", pool=pool)
    told = json.loads(json.dumps(result.json_document(), allow_nan=False))
    assert [set(one) >= {"frame", "path", "verdict"} for one in told["prints"]] == [True, True]
    assert {"frame", "code", "reason"} <= set(told["failed"][0])
    assert (told["skipped"], result.exit_status) == (0, 1)
    assert told["seconds"] > 0
    assert all(os.path.exists(one["path"]) for one in told["prints"])
