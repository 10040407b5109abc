"""The pictures of the pages, made from kept proofs alone."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from lxml import html

from demo_frames import named
from driftline.drift import add_proofs, check_frame, kept_frame, save_measured
from driftline.drift.rechecking import Rechecking
from driftline.errors import DriftlineError
from driftline.ledger import Ledger
from driftline.pages import ledger_page
from driftline.pages.pictures import ProofPictures
from driftline.pipeline import keep, open_frame
from driftline.pipeline.kept import FACTS, RENDERING


@pytest.fixture(scope="module")
def ledger(tmp_path_factory: pytest.TempPathFactory) -> Ledger:
    """A ledger judged on one frame, whose raw file is gone; the second version was measured."""
    folder = tmp_path_factory.mktemp("looks")
    made = Ledger.create(folder / "looks", {"tram-fog": "[exposure]\nev = 0.1\n"})
    raw = folder / "shoot" / "grey.dng"
    raw.parent.mkdir()
    shutil.copyfile(named("grey-middle"), raw)
    save_measured(made, "tram-fog", "[exposure]\nev = 0.8\n", proofs=[open_frame(raw)])
    shutil.rmtree(raw.parent)
    return made


@pytest.fixture(scope="module")
def site(ledger: Ledger, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its pages."""
    return ledger_page(ledger, tmp_path_factory.mktemp("site") / "pages").parent


def test_pages_are_made_with_the_raw_disk_away(site: Path) -> None:
    """Camera rendering, version and map come from the kept proof, for the older version too."""
    told = {}
    for label in ("1", "2"):
        (pair,) = (
            html.parse(site / f"looks/tram-fog/{label}.html").getroot().xpath("//section[@class='pair']")
        )
        assert len(pair.xpath("./div[@class='two']//img")) == 2
        (told[label],) = pair.xpath(".//img[@class='marks']/@alt")
    assert told["1"] != told["2"]
    assert "% lighter" in told["2"]
    assert "grey.dng" in (site / "looks/tram-fog.html").read_text()


def test_a_version_saved_before_the_proof_was_chosen_is_measured_there(ledger: Ledger, site: Path) -> None:
    """It stands where ``check_frame`` puts it on the kept proof, and says that this came later."""
    first = html.parse(site / "looks/tram-fog.html").getroot().xpath("//li[@id='v-1']")[0]
    assert len(first.xpath(".//a[@class='frame']/img")) == 1
    (proof,) = ledger.kept_proofs()
    checked = check_frame(kept_frame(ledger, proof), ledger.read("tram-fog@1"))
    told = first.xpath(".//p[@class='far']")[0].text_content()
    assert told == f"{max(cause.ratio for cause in checked.causes.values()):.1f} × notice, {checked.verdict}"
    assert "measured later" in first.text_content()
    assert "as this proof was chosen after the save" in (site / "looks/tram-fog/1.html").read_text()
    assert "chosen after" not in (site / "looks/tram-fog/2.html").read_text()
    assert ledger.version("tram-fog@1").drift is None


def test_building_again_develops_nothing(ledger: Ledger, site: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A second build takes every picture and map from the folder, and measures nothing again."""

    def never(*_: object) -> bytes:
        raise AssertionError

    before = {path: path.stat().st_mtime_ns for path in site.rglob("*.*")}
    monkeypatch.setattr(ProofPictures, "__call__", never)
    monkeypatch.setattr(ProofPictures, "marks", never)
    monkeypatch.setattr(Rechecking, "check", never)
    ledger_page(ledger, site)
    assert {path: path.stat().st_mtime_ns for path in site.rglob("*.*")} == before


def test_a_likeness_learned_later_makes_pictures_anew(ledger: Ledger, tmp_path: Path) -> None:
    """What a picture depends on names the likenesses, so none is shown that would not be made today."""
    copy = Ledger.open(shutil.copytree(ledger.path, tmp_path / "looks"))
    before = ProofPictures(copy).edition()
    copy.keep_likeness("ostrel-k2", 'camera = "Ostrel K2"\n')
    assert ProofPictures(copy).edition() != before
    assert ProofPictures(ledger).edition() == before


def test_the_true_reason_is_shown(ledger: Ledger, tmp_path: Path) -> None:
    """A proof that is damaged says so in the picture's place, not that it is missing."""
    copy = shutil.copytree(ledger.path, tmp_path / "looks")
    broken = Ledger.open(copy)
    (proof,) = broken.kept_proofs()
    broken.keep_proof(proof, dict.fromkeys(broken.read_proof(proof), b"\0"))
    with pytest.raises(DriftlineError, match="kept proof"):
        ProofPictures(broken)("tram-fog@1", proof)
    ledger_page(broken, tmp_path / "pages")
    text = (tmp_path / "pages/looks/tram-fog/2.html").read_text()
    assert "kept proof: " in text
    assert "0.8" in text


def test_a_proof_that_is_not_kept_says_so(ledger: Ledger) -> None:
    """Its fingerprint, and how to keep it."""
    with pytest.raises(DriftlineError, match="not among the kept proofs"):
        ProofPictures(ledger)("tram-fog@1", "ab" * 32)


def test_a_proof_without_a_camera_rendering_says_what_was_looked_for(tmp_path: Path) -> None:
    """The reason is the frame's own; the map is laid against plain, and says so."""
    made = Ledger.create(tmp_path / "looks", {"tram-fog": "[exposure]\nev = 0.8\n"})
    files = dict(keep(open_frame(named("grey-middle"))))
    facts = json.loads(files[FACTS]) | {"rendering_reason": "the raw holds no JPEG"}
    files[FACTS] = json.dumps(facts).encode()
    del files[RENDERING]
    made.keep_proof(facts["fingerprint"], files)
    made.set_proofs("tram-fog", [facts["fingerprint"]])
    ledger_page(made, tmp_path / "pages")
    (pair,) = html.parse(tmp_path / "pages/looks/tram-fog/1.html").getroot().xpath("//section[@class='pair']")
    assert pair.findtext(".//span[@class='nothing']") == "no camera rendering: the raw holds no JPEG"
    assert "Laid against plain" in pair.xpath(".//img[@class='marks']/@alt")[0]


def test_every_version_is_seen_on_the_proofs_chosen_now(ledger: Ledger, tmp_path: Path) -> None:
    """A proof that is chosen later gives the older versions their pictures as well."""
    copy = Ledger.open(shutil.copytree(ledger.path, tmp_path / "looks"))
    add_proofs(copy, "tram-fog", [open_frame(named("noon-wide"))])
    ledger_page(copy, tmp_path / "pages")
    for label in ("1", "2"):
        tree = html.parse(tmp_path / f"pages/looks/tram-fog/{label}.html").getroot()
        assert len(tree.xpath("//section[@class='pair']")) == 2
    chooser = html.parse(tmp_path / "pages/looks/tram-fog.html").getroot().xpath("//select/option")
    assert len(chooser) == 3
