"""Killed at random instants, and saved to by many at once: what was reported is there, and whole.

DRIFTLINE_DEEP=1 makes 300 kills and 8 × 50 saves; a plain run makes a few of each.
"""

from __future__ import annotations

import os
import random
import re
import signal
import subprocess
import time
from collections import Counter
from collections.abc import Callable

from driftline.ledger import Ledger

Starter = Callable[..., subprocess.Popen[str]]
PlainGit = Callable[..., str]

DEEP = os.environ.get("DRIFTLINE_DEEP") == "1"
KILLS = 300 if DEEP else 14
SAVES_EACH = 50 if DEEP else 5


def reported(lines: list[str]) -> dict[str, int]:
    """Versions that a saver reported, with the number it put into each."""
    found = {}
    for line in lines:
        if match := re.fullmatch(r"(\S+@\S+) ([0-9]+)\n?", line):
            found[match[1]] = int(match[2])
    return found


def kill_while_saving(saver: subprocess.Popen[str], delay_s: float, *, group: bool) -> list[str]:
    """Let a saver run for a moment, kill it, and give what it said until then."""
    assert saver.stdout is not None
    assert saver.stderr is not None
    assert saver.stdout.readline() == "ready\n", saver.stderr.read()
    time.sleep(delay_s)
    if group:
        os.killpg(saver.pid, signal.SIGKILL)
    else:
        saver.kill()
    saver.wait(timeout=30)
    with saver.stdout, saver.stderr:
        return saver.stdout.readlines()


def test_killed_at_random_instants(ledger: Ledger, start_saver: Starter, git: PlainGit) -> None:
    """After each kill, of the group or of the saver alone, the next save works without a repair step."""
    chance = random.Random(2026)
    expected: dict[str, int] = {}
    for kill in range(KILLS):
        saver = start_saver("tram-fog", "1000", "--offset", str(1 + kill * 100))
        said = kill_while_saving(saver, chance.uniform(0.0, 0.15), group=kill % 2 == 0)
        expected |= reported(said)
        saved = ledger.save("tram-fog", f"exposure.ev = {-1 - kill / 1000:.4f}\n")
        assert saved.saved
        assert git("status", "--porcelain") == ""
        if kill % 10 == 0 or not DEEP:
            git("fsck", "--strict")
    git("fsck", "--strict", "--full")
    versions = ledger.versions("tram-fog")
    assert [v.version for v in versions] == list(range(len(versions), 0, -1)), "dense, and none twice"
    assert set(expected) <= {v.ref for v in versions}
    for ref, number in expected.items():
        assert ledger.read(ref).exposure.ev == number / 10000, ref
    for version in versions:
        assert ledger.read(version.ref) is not None


def test_eight_programs_saving_at_once(ledger: Ledger, start_saver: Starter, git: PlainGit) -> None:
    """Nothing is lost, names are unique, numbers dense per recipe, and all is as each program wrote it."""
    recipes = "tram-fog,quay-night,depot-rain"
    savers = [start_saver(recipes, str(SAVES_EACH), "--offset", str(1 + 100 * n)) for n in range(8)]
    found: dict[str, int] = {}
    for saver in savers:
        out, error = saver.communicate(timeout=600)
        assert saver.returncode == 0, error
        mine = reported(out.splitlines())
        assert len(mine) == SAVES_EACH
        assert not mine.keys() & found.keys()
        found |= mine
    versions = Ledger.open(ledger.path).versions()
    assert len(versions) == 8 * SAVES_EACH + 1
    numbers = Counter(v.recipe for v in versions)
    for name, count in numbers.items():
        assert sorted(v.version for v in versions if v.recipe == name) == list(range(1, count + 1))
    for ref, number in found.items():
        assert ledger.read(ref).exposure.ev == number / 10000
    assert git("fsck", "--strict") is not None
    assert git("status", "--porcelain") == ""
