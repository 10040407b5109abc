"""A program that saves again and again and says what was saved; made to be killed.

    python saver.py LEDGER RECIPES COUNT [--die-after STEP] [--offset N]

Every save sets exposure.ev to a number no other save of that program has; each line of output is the name
of a version that `save` reported, and that number.
"""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

from driftline.ledger import Ledger


def text_of(name: str, number: int) -> str:
    """The recipe of one save."""
    return f'name = "{name}"\n\n[exposure]\nev = {number / 10000:.4f}\n'


def say(line: str) -> None:
    """One line, out of this program before it goes on."""
    os.write(1, f"{line}\n".encode())


def main() -> None:
    """Save until done or dead."""
    folder, recipes, count, *options = sys.argv[1:]
    last_step = int(options[options.index("--die-after") + 1]) if "--die-after" in options else 0
    offset = int(options[options.index("--offset") + 1]) if "--offset" in options else 1
    by_hand = "--by-hand" in options

    def after_step(step: int) -> None:
        if step == last_step:
            os.kill(os.getpid(), signal.SIGKILL)

    ledger = Ledger.open(folder, after_step=after_step)
    say("ready")
    for number in range(offset, offset + int(count)):
        name = recipes.split(",")[number % len(recipes.split(","))]
        if by_hand:
            Path(folder, "recipes", f"{name}.toml").write_text(text_of(name, number))
            saved = ledger.save(name)
        else:
            saved = ledger.save(name, text_of(name, number))
        say(f"{saved.ref} {number}")


if __name__ == "__main__":
    main()
