"""``bench``: an address to open, and clear words when it cannot begin."""

from __future__ import annotations

import socket
import sys
from pathlib import Path

import pytest

import demo_frames
from cli.conftest import Cli


@pytest.fixture
def begun(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Lets a bench begin and end at once; what was opened in a browser is in the list."""
    opened: list[str] = []
    monkeypatch.setattr("uvicorn.Server.run", lambda self, sockets: None)
    monkeypatch.setattr("webbrowser.open", opened.append)
    return opened


def test_it_says_where_it_is(cli: Cli, looks: Path, begun: list[str]) -> None:
    """The address with its token, as one document or in words; no browser is opened unasked."""
    frame = demo_frames.named("grey-middle")
    told = cli("bench", frame, "--recipe", "tram-fog", "--ledger", looks, "--json")
    assert told.status == 0
    address = told.json["address"]
    assert address.startswith("http://127.0.0.1:")
    assert len(address.rstrip("/").rpartition("/")[2]) >= 32
    assert begun == []
    words = cli("bench", frame, "--ledger", looks, "--open")
    assert begun == [words.out.split()[4]]
    assert begun != [address]


def test_without_its_extra_it_says_how_to_get_it(
    cli: Cli, looks: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is missing, and the command that installs it; status 2."""
    monkeypatch.setitem(sys.modules, "uvicorn", None)
    told = cli("bench", demo_frames.named("grey-middle"), "--ledger", looks)
    assert told.status == 2
    assert "bench-not-installed" in told.err
    assert "uvicorn" in told.err
    assert "pip install 'driftline[bench]'" in told.err


@pytest.mark.parametrize(
    ("recipe", "code"),
    [
        ("no-such", "no-such-recipe"),
        ("No Name", "bad-name"),
        ("x/tram-fog.toml", "recipe-missing"),
        ("x/tram-fog", "recipe-missing"),
        ("tram-fog@99", "no-such-version"),
    ],
)
def test_a_recipe_that_there_is_not(cli: Cli, looks: Path, begun: list[str], recipe: str, code: str) -> None:
    """Status 2, in words."""
    told = cli("bench", demo_frames.named("grey-middle"), "--ledger", looks, "--recipe", recipe)
    assert told.status == 2
    assert f"[{code}]" in told.err


def test_a_recipe_file_elsewhere(cli: Cli, looks: Path, begun: list[str], tmp_path: Path) -> None:
    """It is opened where it lies; one that cannot be read says so."""
    file = tmp_path / "from-a-friend.toml"
    file.write_text("curve.slope = 1.2\n")
    frame = demo_frames.named("grey-middle")
    assert cli("bench", frame, "--ledger", looks, "--recipe", file).status == 0
    file.write_text("curve.slope = 99\n")
    told = cli("bench", frame, "--ledger", looks, "--recipe", file)
    assert (told.status, "[recipe-out-of-range]" in told.err) == (2, True)


def test_a_port_that_is_taken(cli: Cli, looks: Path, begun: list[str]) -> None:
    """It is said which, and what else could be done."""
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        told = cli("bench", demo_frames.named("grey-middle"), "--ledger", looks, "--port", port)
    assert told.status == 2
    assert f"[bench-port] port {port}" in told.err


def test_too_many_frames(cli: Cli, looks: Path, begun: list[str], tmp_path: Path) -> None:
    """A look is judged by a few; a whole shoot is refused before anything is decoded."""
    shoot = tmp_path / "thirteen"
    shoot.mkdir()
    for number in range(13):
        (shoot / f"{number}.dng").write_bytes(b"II*\0")
    told = cli("bench", shoot, "--ledger", looks)
    assert told.status == 2
    assert "13 frames; the bench takes up to 12" in told.err
