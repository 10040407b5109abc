"""Packing: git's own maintenance, started after a save when there is enough to pack, never waited for."""

from __future__ import annotations

import os

from driftline.ledger.plumbing import Plumbing

LOOSE = 1500
"""Loose objects from which on they are packed: about a year of saves."""


def tidy(git: Plumbing) -> bool:
    """Let git pack in the background if there is enough to pack; True if it was asked to.

    Counts as git does: one of the 256 folders of loose objects stands for all.
    """
    try:
        loose = len(os.listdir(git.folder / ".git" / "objects" / "17")) * 256
    except OSError:
        return False
    if loose < LOOSE:
        return False
    settings = [f"gc.auto={LOOSE}", "gc.autoDetach=true", "gc.autoPackLimit=50"]
    git.attempt(*(word for setting in settings for word in ("-c", setting)), "gc", "--auto", "--quiet")
    return True
