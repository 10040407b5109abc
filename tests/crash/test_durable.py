"""What is on the disk when a save reports: the order of syncs and renames, as strace sees it."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from driftline.ledger import Ledger

CALLS = "fsync,fdatasync,link,linkat,rename,renameat,renameat2"
SAVE = "import sys; from driftline.ledger import Ledger;"
SAVE += "Ledger.open(sys.argv[1]).save('tram-fog', 'exposure.ev = 1.0')"


def traced(ledger: Ledger, log: Path) -> list[tuple[str, str, str]]:
    """The calls of one save in order: ("sync", path, "") and ("name", from, to), paths in the ledger."""
    if shutil.which("strace") is None:
        pytest.skip("no strace on this machine")
    command = ["strace", "-f", "-y", "-qq", "-e", f"trace={CALLS}", "-o", str(log)]
    done = subprocess.run(
        [*command, sys.executable, "-c", SAVE, str(ledger.path)], capture_output=True, text=True, check=False
    )
    if done.returncode != 0:
        pytest.skip(f"strace may not trace here: {done.stderr.strip()[:100]}")
    return [
        event for line in log.read_text().splitlines() if (event := parsed(line, ledger.path)) is not None
    ]


def parsed(line: str, root: Path) -> tuple[str, str, str] | None:
    """One line of strace's output."""
    if synced := re.search(r"f(?:data)?sync\(\d+<([^>]+)>\)\s+= 0", line):
        return "sync", str(Path(synced[1]).relative_to(root)), ""
    if at := re.search(r'(?:link|rename)at2?\(\S+?<([^>]+)>, "([^"]+)", \S+?<([^>]+)>, "([^"]+)".*= 0', line):
        return "name", inside(root, at[1], at[2]), inside(root, at[3], at[4])
    if plain := re.search(r'(?:link|rename)\("([^"]+)", "([^"]+)"\)\s+= 0', line):
        return "name", inside(root, str(root), plain[1]), inside(root, str(root), plain[2])
    return None


def inside(root: Path, folder: str, name: str) -> str:
    """A path as seen from the ledger."""
    return str((Path(folder) / name).relative_to(root))


def test_everything_is_synced_before_the_step_that_needs_it(ledger: Ledger, tmp_path: Path) -> None:
    """Objects and their folders before the branch; the branch and its folder before the working file; that
    file before its rename, and its folder after it.
    """
    ledger.save("tram-fog", "exposure.ev = 0.5\n")
    events = traced(ledger, tmp_path / "log")
    branch = events.index(("name", ".git/refs/heads/main.lock", ".git/refs/heads/main"))
    objects = [e for e in events if e[0] == "name" and re.match(r"\.git/objects/../[0-9a-f]+$", e[2])]
    assert len(objects) == 4, "a blob, two trees, a commit"
    for event in objects:
        named = events.index(event)
        before_the_branch = events[:branch]
        contents = ("sync", event[1], "") in events[:named] or ("sync", event[2], "") in before_the_branch
        assert contents, f"{event[2]}: not synced before the branch moved"
        assert ("sync", str(Path(event[2]).parent), "") in events[named:branch]
    assert ("sync", ".git/refs/heads/main.lock", "") in events[:branch]
    folder = events.index(("sync", ".git/refs/heads", ""), branch)
    file = next(n for n, e in enumerate(events) if e[2] == "recipes/tram-fog.toml")
    assert branch < folder < file
    assert ("sync", events[file][1], "") in events[:file]
    assert ("sync", "recipes", "") in events[file:]
