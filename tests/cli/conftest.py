"""Commands run in this process, and a ledger to run them on."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

import demo_frames
from batch.shoot import write_shoot
from driftline.cli.application import run
from driftline.drift import fork_measured, save_measured
from driftline.ledger import Ledger
from driftline.pipeline import open_frame

TRAM_FOG = """\
name = "tram-fog"
about = "wet grey mornings"

[exposure]
ev = 0.35   # a third of a stop
"""
QUAY = "[curve]\nslope = 1.2\n\n[chroma.band.brick]\nhue = 40.0\nscale = 1.1\n"


@dataclass(frozen=True)
class Told:
    """What a command said, and the status it left with."""

    status: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        """The one document on standard output; anything else there is an error."""
        return json.loads(self.out)


Cli = Callable[..., Told]


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to work in; nothing of whoever runs the tests is seen."""
    for name in [name for name in os.environ if name.startswith(("GIT_", "DRIFTLINE_LEDGER"))]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("HOME", str(tmp_path))
    for name in ("XDG_CONFIG_HOME", "XDG_CACHE_HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.fixture
def cli(home: Path, capsys: pytest.CaptureFixture[str]) -> Cli:
    """Run a command in the empty folder."""

    def tell(*arguments: str | Path) -> Told:
        capsys.readouterr()
        status = run([str(argument) for argument in arguments])
        said = capsys.readouterr()
        assert "Traceback" not in said.err
        return Told(status, said.out, said.err)

    return tell


@pytest.fixture(scope="session")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A ledger with two looks, a proof, three versions of one and a fork; a shoot of three small frames.

    Beside them lies a frame of the demo, which can be measured.
    """
    folder = tmp_path_factory.mktemp("made")
    write_shoot(folder / "shoot", 3)
    shutil.copy(demo_frames.named("shade-middle"), folder / "noon.dng")
    ledger = Ledger.create(folder / "looks", {"tram-fog": TRAM_FOG, "quay-night": QUAY})
    proofs = [open_frame(folder / "noon.dng")]
    text = TRAM_FOG.replace("0.35", "0.50")
    save_measured(ledger, "tram-fog", text, proofs=proofs, note="lighter")
    save_measured(ledger, "tram-fog", text + "\n[curve]\nslope = 1.3\n", note="harder\nthan before")
    fork_measured(ledger, "tram-fog@2", "fog-at-dusk")
    return folder


@pytest.fixture
def looks(made: Path, home: Path) -> Path:
    """A copy of that ledger, in the folder that commands run in; shoot and frame lie beside it."""
    shutil.copytree(made / "looks", home / "looks")
    shutil.copytree(made / "shoot", home / "shoot")
    shutil.copy(made / "noon.dng", home)
    return home / "looks"


@pytest.fixture
def edit(looks: Path) -> Callable[[str, str], None]:
    """Write a working file, as a text editor does."""

    def write(name: str, text: str) -> None:
        (looks / "recipes" / f"{name}.toml").write_text(text, "utf-8")

    return write
