"""Packing after a save, by git's own maintenance."""

from __future__ import annotations

import hashlib
import time
from collections.abc import Callable, Iterator
from itertools import count, islice

import pytest

from driftline.ledger import Ledger

PlainGit = Callable[..., str]


def loose(git: PlainGit) -> int:
    """How many loose objects git counts (git-count-objects(1))."""
    return int(git("count-objects").split()[0])


def contents_of_folder_17() -> Iterator[str]:
    """Texts whose object ids begin with 17: git counts that one folder of 256 and takes it for all."""
    for number in count():
        content = f"text {number}\n"
        if hashlib.sha1(f"blob {len(content)}\0{content}".encode()).hexdigest().startswith("17"):
            yield content


def test_loose_objects_are_packed_in_time(
    ledger: Ledger, git: PlainGit, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Once there are enough, a save has git pack them in the background, and nothing is lost."""
    monkeypatch.setattr("driftline.ledger.tidy.LOOSE", 600)
    for number in range(20):
        ledger.save("tram-fog", f"exposure.ev = {number / 100}\n")
    assert loose(git) > 80
    for content in islice(contents_of_folder_17(), 5):
        git("hash-object", "-w", "--stdin", stdin=content)
    ledger.save("tram-fog", "exposure.ev = 1.0\n")
    end = time.monotonic() + 30
    while loose(git) > 20 and time.monotonic() < end:
        time.sleep(0.05)
    assert loose(git) <= 20
    assert len(ledger.versions("tram-fog")) == 22
    git("fsck", "--strict")
    assert ledger.save("tram-fog", "exposure.ev = 2.0\n").saved
