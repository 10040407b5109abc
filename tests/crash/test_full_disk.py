"""A disk that is really full: a small one in memory, in a mount namespace of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

SCRIPT = Path(__file__).with_name("full_disk.py")
ON_SMALL_DISK = 'mount -t tmpfs -o size=2m tmpfs "$1" && shift && exec "$@"'
UNSHARE = ["unshare", "--user", "--map-root-user", "--mount", "sh", "-c", ON_SMALL_DISK, "sh"]


def on_small_disk(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run a program that sees `folder` as a disk of 2 MB."""
    try:
        return subprocess.run([*UNSHARE, str(folder), *words], capture_output=True, text=True, check=False)
    except FileNotFoundError:
        pytest.skip("no unshare on this machine")


def test_a_full_disk_is_said_and_changes_nothing(tmp_path: Path) -> None:
    """With any room left, from none to enough: saved and sound, or a clear error and the ledger as it was."""
    disk = tmp_path / "disk"
    disk.mkdir()
    if on_small_disk(disk, "true").returncode != 0:
        pytest.skip("this machine lets no one but root mount a small disk")
    done = on_small_disk(disk, sys.executable, str(SCRIPT), str(disk))
    assert done.returncode == 0, done.stderr
    rows = [line.split("|") for line in done.stdout.splitlines()]
    assert len(rows) == 20, os.linesep.join(done.stdout.splitlines())
    for spare, said, moved, new, sound in rows:
        assert sound == "", f"{spare} bytes left: {sound}"
        assert (said, moved, new) == ("ledger-disk-full", "False", "0") or (
            said.startswith("tram-fog@") and (moved, new) == ("True", "1")
        ), f"{spare} bytes left: {said}, {moved}, {new}"
    assert rows[0][1] == "ledger-disk-full"
    assert rows[-1][1].startswith("tram-fog@")
