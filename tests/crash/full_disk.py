"""Saves in a ledger on a small disk with less and less room left; for test_full_disk.py.

    python full_disk.py FOLDER

Prints one line for each amount of free room: what the save said, and whether the ledger is sound after it.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

from driftline.errors import LedgerError
from driftline.ledger import Ledger


def git(folder: Path, *words: str) -> str:
    """Plain git; what it says."""
    done = subprocess.run(["git", "-C", str(folder), *words], capture_output=True, text=True, check=False)
    return done.stdout + (done.stderr if done.returncode else "")


def fill(file: Path, spare: int) -> None:
    """Fill the disk, then give back `spare` bytes."""
    size = 0
    with file.open("wb", buffering=0) as filler:
        try:
            while True:
                size += filler.write(b"x" * 4096)
        except OSError:
            filler.truncate(max(0, size - spare))


def main() -> None:
    """Try every amount of room."""
    disk = Path(sys.argv[1])
    ledger = Ledger.create(disk / "looks", {"tram-fog": "exposure.ev = 0.0\n"})
    for number, spare in enumerate(range(0, 80 * 1024, 4096), start=1):
        head = git(ledger.path, "rev-parse", "HEAD")
        count = len(ledger.versions())
        fill(disk / "filler", spare)
        try:
            said = ledger.save("tram-fog", f"exposure.ev = {number / 100}\n").ref
        except LedgerError as error:
            said = error.code
        (disk / "filler").unlink()
        moved = git(ledger.path, "rev-parse", "HEAD") != head
        versions = Ledger.open(ledger.path).versions()
        sound = git(ledger.path, "fsck", "--strict", "--no-dangling") + git(
            ledger.path, "status", "--porcelain"
        )
        print(f"{spare}|{said}|{moved}|{len(versions) - count}|{sound.strip()}")


if __name__ == "__main__":
    main()
