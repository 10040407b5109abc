"""What ``check`` says of the section that did most."""

from __future__ import annotations

from pathlib import Path

import demo_frames
from cli.conftest import Cli

FRAME = demo_frames.named("chart")


def look(home: Path, text: str) -> Path:
    """A recipe in a file."""
    path = home / "look.toml"
    path.write_text(text)
    return path


def test_the_section_that_did_most_is_named(cli: Cli, home: Path) -> None:
    """One line between the words and the table; in JSON the section, and the shares that add up."""
    recipe = look(home, "[curve]\nslope = 1.6\n\n[white]\nshift = 3.0\n")
    lines = cli("check", FRAME, "--recipe", recipe).out.splitlines()
    (line,) = [line for line in lines if "most of it by" in line]
    assert line == "  most of it by [curve]; without it the picture would be in keeping"
    assert lines.index(line) < next(n for n, row in enumerate(lines) if "judged" in row.split())
    (one,) = cli("check", FRAME, "--recipe", recipe, "--json").json["frames"]
    told = one["shares"]
    assert (told["most"], told["verdict_without"], told["sections"]) == (
        "curve",
        "in keeping",
        ["white", "curve"],
    )
    contrast = told["causes"]["contrast"]
    parts = sum(part["share"] for part in contrast["sections"].values())
    assert abs(parts + contrast["interaction"] - contrast["total"]) < 1e-9


def test_in_keeping_names_nobody(cli: Cli, home: Path) -> None:
    """Where nothing stands out, no section is named."""
    recipe = look(home, "[white]\nshift = 3.0\n")
    assert "without it" not in cli("check", FRAME, "--recipe", recipe).out
    (one,) = cli("check", FRAME, "--recipe", recipe, "--json").json["frames"]
    assert (one["verdict"], one["shares"]) == ("in keeping", None)
