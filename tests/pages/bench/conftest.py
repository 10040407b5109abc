"""A ledger, frames, and a bench to ask: in this process, and as a program with a browser before it."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

import demo_frames
from driftline.drift import save_measured
from driftline.ledger import Ledger
from driftline.pages.bench.desk import Desk
from driftline.pages.bench.guards import Guard
from driftline.pages.bench.routes import Bench
from driftline.pipeline import open_frame
from pages.bench.asking import PORT, TOKEN, Asking

FRAMES = ("grey-middle", "noon-wide")
LOOK = """\
name = "tram-fog"
about = "wet grey mornings"

[exposure]
ev = 0.20   # a fifth of a stop

[curve]
slope = 1.10

[chroma.band.brick]
hue = 40.0
scale = 1.1
"""


def own_surroundings(home: Path) -> dict[str, str]:
    """An environment that sees nothing of whoever runs the tests."""
    (home / ".gitconfig").write_text("[user]\n\tname = A Tester\n\temail = tester@example.org\n")
    kept = {key: value for key, value in os.environ.items() if not key.startswith(("GIT_", "DRIFTLINE_L"))}
    return {**kept, "HOME": str(home)}


@pytest.fixture(autouse=True)
def _surroundings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in [name for name in os.environ if name.startswith(("GIT_", "DRIFTLINE_LEDGER"))]:
        monkeypatch.delenv(name)
    own_surroundings(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))


@pytest.fixture(scope="session")
def _looks(tmp_path_factory: pytest.TempPathFactory) -> Path:
    ledger = Ledger.create(
        tmp_path_factory.mktemp("bench") / "looks", {"tram-fog": LOOK, "quay-night": "curve.slope = 1.2\n"}
    )
    frame = open_frame(demo_frames.named("grey-middle"))
    for slope, ev, note in ((1.2, 0.3, "firmer"), (1.15, 0.3, "a little back")):
        text = LOOK.replace("slope = 1.10", f"slope = {slope:.2f}").replace("ev = 0.20", f"ev = {ev:.2f}")
        save_measured(ledger, "tram-fog", text, proofs=[frame], note=note)
    return ledger.path


@pytest.fixture
def looks(_looks: Path, tmp_path: Path) -> Path:
    """A ledger of one's own: ``tram-fog`` in three versions judged by one proof, ``quay-night`` in one."""
    return Path(shutil.copytree(_looks, tmp_path / "looks"))


@pytest.fixture(scope="session")
def frames() -> list[Path]:
    """Two demo frames."""
    return [demo_frames.named(name) for name in FRAMES]


@pytest.fixture
def desk(looks: Path, frames: list[Path]) -> Iterator[Desk]:
    """A desk with ``tram-fog`` and two frames."""
    made = Desk(Ledger.open(looks), frames, "tram-fog")
    yield made
    made.close()


@pytest.fixture
def asking(desk: Desk) -> Iterator[Asking]:
    """The bench of that desk, asked as its own page would."""
    guarded = Guard(Bench(desk).application(), token=TOKEN, port=PORT)
    made = Asking(guarded)
    yield made
    made.close()


@dataclass
class Running:
    """A bench as a program."""

    process: subprocess.Popen[str]
    address: str

    def kill(self) -> None:
        """End it at once, as a power cut would."""
        self.process.kill()
        self.process.wait(timeout=20)

    def stop(self) -> int:
        """Ctrl-C; gives the exit status."""
        self.process.send_signal(2)
        return self.process.wait(timeout=20)


Start = Callable[..., Running]


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Start]:
    """Starts ``driftline bench`` on a ledger and frames; ends whatever still runs."""
    running: list[Running] = []

    def begin(looks: Path, frames: list[Path], *more: str) -> Running:
        command = [sys.executable, "-m", "driftline", "bench", *map(str, frames), "--ledger", str(looks)]
        with (tmp_path / "stderr.txt").open("ab") as told:
            process = subprocess.Popen(
                [*command, "--json", *more],
                stdout=subprocess.PIPE,
                stderr=told,
                text=True,
                env=own_surroundings(tmp_path),
            )
        running.append(Running(process, _address(process)))
        return running[-1]

    yield begin
    for one in running:
        one.kill()
        if one.process.stdout:
            one.process.stdout.close()


def _address(process: subprocess.Popen[str]) -> str:
    assert process.stdout
    told = "".join(process.stdout.readline() for _ in range(3))
    document: Any = json.loads(told)
    return str(document["address"])
