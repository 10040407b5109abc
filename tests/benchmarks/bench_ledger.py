"""How the ledger does after ten years: 10,000 versions over 40 recipes, 2,000 of them in one.

    python tests/benchmarks/bench_ledger.py [FOLDER]

Builds such a ledger with git's own fast-import, then prints, each beside its yardstick:
history of the largest recipe against the plain ``git log`` that reads the same commits plus the start of
the interpreter; a save against a save in an empty ledger; opening; what git itself takes.
"""

from __future__ import annotations

import json
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from driftline.ledger import Ledger
from driftline.ledger.message import compose
from driftline.ledger.names import Ref

RECIPES = [f"look-{n:02}" for n in range(40)]
VERSIONS, LARGEST = 10_000, 2_000
CAUSES = ("exposure", "contrast", "white", "duv", "chroma", "hue", "split_tint", "clip_low", "clip_high")


def recipe_text(name: str, ev: float, slope: float) -> str:
    """A recipe of a usual size."""
    return (
        f'format = 1\nname = "{name}"\nabout = "an invented look for a test"\n\n[exposure]\nev = {ev:.2f}\n\n'
        f"[curve]\nslope = {slope:.2f}\ntoe = -0.1\n\n[split]\nlow = {{ hue = 240.0, chroma = 0.012 }}\n"
    )


def order(seed: int = 7) -> list[str]:
    """Which recipe is saved when: one of them a fifth of the time, the others evenly."""
    names = [RECIPES[0]] * LARGEST
    names += [RECIPES[1 + n % (len(RECIPES) - 1)] for n in range(VERSIONS - LARGEST)]
    random.Random(seed).shuffle(names)
    return names


def stream(head: str) -> bytes:
    """The whole history as git fast-import reads it."""
    chance, numbers, out = random.Random(11), dict.fromkeys(RECIPES, 0), []
    for n, name in enumerate(order()):
        numbers[name] += 1
        ref, ev = Ref(name, numbers[name]), chance.uniform(-1, 1)
        drift = {
            cause: {"floor": 0.01, "edit": round(chance.gauss(0, 0.2), 4), "judged": 0.1} for cause in CAUSES
        }
        changes = [{"field": "exposure.ev", "from": 0.0, "to": round(ev, 2), "unit": "EV"}]
        parents = [("Derived-from", str(Ref(name, numbers[name] - 1)))] if numbers[name] > 1 else []
        trailers = [
            ("Recipe", name), ("Version", str(ref)), ("Kind", "version"), *parents, ("Look", f"{n:064x}"),
            ("Changes", json.dumps(changes)), ("Proofs", f"{n:064x}"), ("Drift", json.dumps(drift)),
        ]  # fmt: skip
        message = compose(str(ref), [f"exposure 0.00 → {ev:+.2f} EV"], "" if n % 3 else "a note", trailers)
        body, text = message.encode(), recipe_text(name, ev, chance.uniform(0.9, 1.3)).encode()
        when = 1_400_000_000 + n * 31_000
        out.append(
            b"commit refs/heads/main\ncommitter A Tester <a@example.org> %d +0100\ndata %d\n%s%s"
            b"M 100644 inline recipes/%s.toml\ndata %d\n%s\n"
            % (when, len(body), body, b"from %s\n" % head.encode() if n == 0 else b"", name.encode(),
               len(text), text)
        )  # fmt: skip
    return b"".join(out)


def build(folder: Path) -> Ledger:
    """A ledger of ten years in `folder`."""
    Ledger.create(folder)
    head = git(folder, "rev-parse", "HEAD").decode().strip()
    subprocess.run(["git", "-C", folder, "fast-import", "--quiet"], input=stream(head), check=True)
    git(folder, "reset", "--quiet", "--hard")
    git(folder, "gc", "--quiet")
    return Ledger.open(folder)


def git(folder: Path, *words: str) -> bytes:
    """Plain git."""
    return subprocess.run(["git", "-C", folder, *words], check=True, capture_output=True).stdout


def timed(act: Callable[[], object], times: int = 15) -> float:
    """Seconds, the best of several: what the machine can do when nothing else runs."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        act()
        taken.append(time.perf_counter() - start)
    return min(taken)


def program(*words: str) -> Callable[[], object]:
    """A Python program, run anew each time."""
    return lambda: subprocess.run([sys.executable, *words], check=True, capture_output=True)


def save_time(ledger: Ledger, name: str, times: int = 15) -> float:
    """Seconds of one save through the library."""
    chance = random.Random(3)
    return timed(lambda: ledger.save(name, recipe_text(name, chance.uniform(-2, 2), 1.1)), times)


def main() -> None:
    """Build, measure, print."""
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(sys.argv[1] if len(sys.argv) > 1 else temporary) / "ledger"
        start = time.perf_counter()
        big = Ledger.open(folder) if folder.exists() else build(folder)
        print(f"building              {time.perf_counter() - start:8.1f} s")
        start_up = timed(program("-c", "pass"))
        path = f"recipes/{RECIPES[0]}.toml"
        by_path = timed(lambda: git(folder, "log", "--format=fuller", "--", path))
        everything = timed(lambda: git(folder, "log", "--format=fuller"))
        history = "import sys; from driftline.ledger import Ledger;"
        history += f"v = Ledger.open(sys.argv[1]).versions({RECIPES[0]!r}); assert len(v) >= {LARGEST}"
        ours = timed(program("-c", history, str(folder)))
        command = timed(program("-m", "driftline", "history", RECIPES[0], "--ledger", str(folder)))
        inside = timed(lambda: big.versions(RECIPES[0]))
        print(f"python -c pass        {1000 * start_up:8.1f} ms")
        print(f"git log -- RECIPE     {1000 * by_path:8.1f} ms")
        print(f"git log               {1000 * everything:8.1f} ms")
        print(f"history, new process  {1000 * ours:8.1f} ms   {ours / (by_path + start_up):.2f} x")
        print(f"driftline history     {1000 * command:8.1f} ms   {command / (by_path + start_up):.2f} x")
        print(f"history, inside       {1000 * inside:8.1f} ms   {inside / by_path:.2f} x git log -- RECIPE")
        with tempfile.TemporaryDirectory() as other:
            empty = Ledger.create(Path(other) / "ledger")
            small, large = save_time(empty, "look-99"), save_time(big, RECIPES[5])
        print(f"save, empty ledger    {1000 * small:8.1f} ms")
        print(f"save, this ledger     {1000 * large:8.1f} ms   {large / small:.2f} x")
        last = timed(lambda: Ledger.open(folder).version(RECIPES[0]))
        first = timed(lambda: Ledger.open(folder).version(f"{RECIPES[0]}@1"))
        print(f"open, last version    {1000 * last:8.1f} ms")
        print(f"open, first version   {1000 * first:8.1f} ms")


if __name__ == "__main__":
    main()
