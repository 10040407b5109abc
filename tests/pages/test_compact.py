"""The numbers that a page is handed."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from driftline.pages import build_page
from driftline.recipe import field_specs, parameters, parse_recipe
from pages.history import HOSTILE, story, version

LOADS = re.compile(r"tellNumbers\((?P<name>\"(?:[^\"\\]|\\.)*\"), (?P<numbers>\{.*\})\);\n", re.DOTALL)


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The made-up history as pages."""
    return build_page(tmp_path_factory.mktemp("site") / "pages", story()).parent


def numbers(site: Path, name: str) -> dict[str, Any]:
    """A look's numbers, read back."""
    found = LOADS.fullmatch((site / f"data/{name}.js").read_text(encoding="ascii"))
    assert found is not None
    told: dict[str, Any] = json.loads(found["numbers"])
    return told


def test_every_version_stands_on_every_proof(site: Path) -> None:
    """Distance, words, drift and picture on each proof, or the reason why there is none."""
    told = numbers(site, "tram-fog")
    assert told["labels"] == ["1", "2", "3", "4"]
    night, fog = told["proofs"]
    assert night["name"] == "01-night-wide.dng"
    assert [stand[0] for stand in night["stands"]] == [0.588, 2.353, None, 1.2]
    assert night["stands"][1][1] == "2.4 × notice, overdone"
    assert [stand[0] for stand in fog["stands"]] == [None, 3.529, None, None]
    address, width, height = fog["stands"][1][3]
    assert (site / address).is_file()
    assert (width, height) == (48, 32)
    assert fog["stands"][0][3] == "no picture was kept"
    assert fog["camera"] == "the file carries none"


def test_a_parameter_that_never_moved_is_said_once(site: Path) -> None:
    """Columns are the ledger's values; a constant one is a single value."""
    values = numbers(site, "tram-fog")["values"]
    assert values["exposure.ev"] == [0.0, 0.02, 0.09, 0.12]
    assert values["curve.slope"] == [1.0]
    assert set(values) == {path for path in field_specs() if "*" not in path}


def test_a_band_that_comes_and_goes_is_neutral_where_it_is_not(tmp_path: Path) -> None:
    """Hue and width are none where the band is absent, its other parameters do nothing."""
    with_band = parse_recipe("[chroma.band.brick]\nhue = 40.0\nwidth = 30.0\nturn = -4.0\n", source="x")
    look = story().looks[1]
    versions = (
        version("tram-fog@1"),
        version("tram-fog@2", 1, values=parameters(with_band)),
        version("tram-fog@3", 2, values=None),
    )
    build_page(tmp_path / "p", story(looks=(type(look)("tram-fog", "", versions),)))
    told = numbers(tmp_path / "p", "tram-fog")
    assert told["values"]["chroma.band.brick.hue"] == [None, 40.0, None]
    assert told["values"]["chroma.band.brick.turn"] == [0.0, -4.0, 0.0]
    assert told["unread"] == [2]


def test_numbers_hold_nothing_that_could_run(tmp_path: Path) -> None:
    """Whatever a look is called, its script is one call with plain data, in ASCII."""
    look = story().looks[1]
    build_page(tmp_path / "p", story(looks=(type(look)(HOSTILE, HOSTILE, (version(f"{HOSTILE}@1"),)),)))
    (script,) = (tmp_path / "p/data").iterdir()
    found = LOADS.fullmatch(script.read_text(encoding="ascii"))
    assert found is not None
    assert json.loads(found["name"]) == HOSTILE
