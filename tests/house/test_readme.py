"""The README's printed output is what the commands print.

Every fenced ``console`` block is run in order, in one folder, as a newcomer would. Times and durations are
levelled before they are compared. ``DRIFTLINE_WRITE_README=1 pytest tests/house/test_readme.py`` writes the
output of today into the README.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from driftline.starter import demo_frames

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
BLOCK = re.compile(r"^```console\n(.*?)^```$", re.M | re.S)
WRITE = os.environ.get("DRIFTLINE_WRITE_README") == "1"


def level(text: str) -> str:
    """Put the same words for whatever differs from day to day and machine to machine."""
    text = re.sub(r"\d{4}-\d\d-\d\d \d\d:\d\d", "2026-11-25 09:00", text)
    text = re.sub(r"\b\d+\.\d s\b", "3.0 s", text)
    text = re.sub(r"commit( +)[0-9a-f]{12}\b", r"commit\g<1>0123456789ab", text)
    return "\n".join(line.rstrip() for line in text.strip().splitlines())


def run(command: str, home: Path, folder: Path) -> str:
    """What a terminal shows for a command."""
    environment = {
        **os.environ,
        "PATH": f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}",
        "HOME": str(home),
        "COLUMNS": "100",
        "NO_COLOR": "1",
    }
    environment.pop("DRIFTLINE_LEDGER", None)
    done = subprocess.run(
        command,
        shell=True,
        cwd=folder,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    return done.stdout.replace(str(home), "~")


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """A folder with the demo shoot in ``tram-terminus/``."""
    shoot = tmp_path / "tram-terminus"
    shoot.mkdir()
    for frame in demo_frames():
        shutil.copy(frame, shoot)
    return tmp_path


def test_every_console_block_prints_what_it_says(home: Path) -> None:
    """Commands of the README, one after another, give the output shown below them."""
    text = README.read_text("utf-8")
    blocks = BLOCK.findall(text)
    assert blocks, "the README shows no printed output"
    folder = home
    for block in blocks:
        fresh = []
        for part in re.split(r"^(?=\$ )", block, flags=re.M):
            if not part.strip():
                continue
            command, _, shown = part.partition("\n")
            if command.startswith("$ cd "):
                folder = folder / command[5:]
                fresh.append(f"{command}\n")
                continue
            output = run(command[2:], home, folder)
            assert "Traceback" not in output, command
            fresh.append(f"{command}\n{output.rstrip()}\n" if output.strip() else f"{command}\n")
            if not WRITE:
                assert level(output) == level(shown), command
        text = text.replace(f"```console\n{block}```", f"```console\n{''.join(fresh)}```")
    if WRITE:
        README.write_text(text, "utf-8")


def test_the_first_two_blocks_are_one_command_each() -> None:
    """Set up and run the main job; set up and pass the tests: two commands and nothing else."""
    blocks = re.findall(r"^```sh\n(.*?)^```$", README.read_text("utf-8"), re.M | re.S)
    assert len(blocks) >= 2
    for block in blocks[:2]:
        assert len(block.strip().splitlines()) == 1
    assert "driftline demo" in blocks[0]
    assert "pytest" in blocks[1]


def test_every_command_is_in_the_readme() -> None:
    """A command that nobody can read of is not finished."""
    from driftline.cli.application import COMMANDS

    text = README.read_text("utf-8")
    missing = [name for name in COMMANDS if f"driftline {name.replace('_', '-')}" not in text]
    assert missing == []
