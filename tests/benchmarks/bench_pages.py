"""How the pages do with 2,000 versions of one recipe, measured on two proofs.

    python tests/benchmarks/bench_pages.py [FOLDER]

Builds such a ledger with git's own fast-import, then prints: the first build, the build after one more
version, and one where nothing is new, each beside what is hardly avoidable: ``git log -p`` over the same
commits, and a bare Jinja2 loop that writes a page of one paragraph a version and copies its two pictures. The
pictures are given, so that both sides only put them in place; how long one takes to make from a kept proof is
printed too. With Playwright and Chromium: the time to the first paint of the pages, opened from disk.
"""

from __future__ import annotations

import json
import math
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from io import BytesIO
from pathlib import Path

import jinja2
import numpy as np
from bench_ledger import git
from PIL import Image

from driftline.ledger import Ledger
from driftline.ledger.message import compose
from driftline.ledger.names import Ref
from driftline.pages import build_page, story_of
from driftline.pages.pictures import ProofPictures
from driftline.pages.story import Marks

NAME, VERSIONS, PROOFS = "long-street", 2_000, ("a1" * 32, "b2" * 32)
CAUSES = {"exposure": "EV", "contrast": "log2", "white": "mired", "chroma": "log2", "split_tint": "100 z"}
SIZES = {"exposure": 0.17, "contrast": 0.21, "white": 15.0, "chroma": 0.25, "split_tint": 2.0}
BARE = "<!doctype html><title>{{ ref }}</title><h1>{{ ref }}</h1><p>{{ note }}</p><pre>{{ text }}</pre>"


def values(n: int) -> dict[str, float]:
    """The parameters of the n-th version: a look that swings less and less."""
    swing = math.exp(-n / 500)
    return {
        "ev": 0.3 + 0.5 * swing * math.cos(n / 3),
        "slope": 1.1 + 0.2 * swing * math.sin(n / 5),
        "shift": 8 + 10 * math.sin(n / 40),
        "scale": 0.95 + 0.1 * swing * math.cos(n / 7),
    }


def text_of(n: int) -> str:
    """A recipe of a usual size."""
    v = values(n)
    return (
        f'format = 1\nname = "{NAME}"\nabout = "an invented look for a test"\n\n'
        f"[exposure]\nev = {v['ev']:.2f}\n\n"
        f"[white]\nshift = {v['shift']:.1f}\n\n[curve]\nslope = {v['slope']:.2f}\ntoe = -0.1\n\n"
        f"[chroma]\nscale = {v['scale']:.2f}\n\n[split]\nlow = {{ hue = 240.0, chroma = 0.012 }}\n"
    )


def drift_of(n: int) -> dict[str, object]:
    """Drift as a save keeps it: four numbers of each cause on each proof."""
    chance = random.Random(n)
    swing = 0.4 + 1.5 * math.exp(-n / 600)

    def four(cause: str) -> list[float]:
        edit = round(chance.gauss(0, SIZES[cause] * swing), 4)
        return [0.01, edit, round(edit + 0.01, 4), edit]

    return {
        "causes": {cause: {"unit": unit, "comparable": True} for cause, unit in CAUSES.items()},
        "frames": {proof: {"causes": {cause: four(cause) for cause in CAUSES}} for proof in PROOFS},
    }


def stream(head: str) -> bytes:
    """The whole history as git fast-import reads it."""
    out = []
    for n in range(VERSIONS):
        ref = Ref(NAME, n + 1)
        parents = [("Derived-from", str(Ref(NAME, n)))] if n else []
        before, now = values(n - 1)["ev"] if n else 0.0, values(n)["ev"]
        changes = [{"field": "exposure.ev", "from": before, "to": now, "unit": "EV"}]
        trailers = [
            ("Recipe", NAME), ("Version", str(ref)), ("Kind", "version"), *parents, ("Look", f"{n:064x}"),
            ("Changes", json.dumps(changes)), ("Proofs", " ".join(PROOFS)),
            ("Drift", json.dumps(drift_of(n))),
        ]  # fmt: skip
        words = [f"exposure {before:+.2f} → {now:+.2f} EV"]
        body = compose(str(ref), words, "" if n % 3 else "a note on why", trailers).encode()
        text = text_of(n).encode()
        out.append(
            b"commit refs/heads/main\ncommitter A Tester <a@example.org> %d +0100\ndata %d\n%s%s"
            b"M 100644 inline recipes/%s.toml\ndata %d\n%s\n"
            % (1_500_000_000 + n * 100_000, len(body), body,
               b"from %s\n" % head.encode() if n == 0 else b"", NAME.encode(), len(text), text)
        )  # fmt: skip
    return b"".join(out)


def build(folder: Path) -> Ledger:
    """A ledger with one long recipe, and a record of the shoots it was used on."""
    Ledger.create(folder)
    head = git(folder, "rev-parse", "HEAD").decode().strip()
    subprocess.run(["git", "-C", folder, "fast-import", "--quiet"], input=stream(head), check=True)
    git(folder, "reset", "--quiet", "--hard")
    git(folder, "gc", "--quiet")
    ledger = Ledger.open(folder)
    for year in range(2018, 2024):
        lines = [
            {
                "frame": f"{n:064x}",
                "ref": f"{NAME}@{(year - 2017) * 300}",
                "name": f"street-{n}.dng",
                "shoot": "street",
            }
            for n in range(200)
        ]
        ledger.record_run(year, f"0{year - 2016}12-101500-7", lines)
    return ledger


def given_picture(seed: int = 5) -> bytes:
    """A JPEG as large as those of the pages."""
    rough = np.random.default_rng(seed).integers(0, 255, (24, 36, 3), dtype=np.uint8)
    out = BytesIO()
    Image.fromarray(rough).resize((720, 480), Image.Resampling.BICUBIC).save(out, "JPEG", quality=86)
    return out.getvalue()


def given_marks() -> Marks:
    """A difference map of a usual size."""
    squares = tuple(
        (r, c, "lighter" if c % 2 else "more colour", 2.0) for r in range(17) for c in range(0, 26, 2)
    )
    return Marks((17, 26), (0.0, 0.0, 1.0, 1.0), (480, 720), squares)


def bare(ledger: Ledger, out: Path, picture: bytes) -> None:
    """The peer: a page of one paragraph a version, and its two pictures copied."""
    template = jinja2.Environment(autoescape=True).from_string(BARE)
    source = out / "picture.jpg"
    out.mkdir(parents=True)
    source.write_bytes(picture)
    versions = ledger.versions(NAME)
    texts = ledger.texts(versions)
    for version in versions:
        text = template.render(ref=version.ref, note=version.note, text=texts[version.ref])
        (out / f"{version.version}.html").write_text(text)
        for proof in PROOFS:
            shutil.copyfile(source, out / f"{version.version}-{proof[:8]}.jpg")


def seconds(act: Callable[[], object]) -> float:
    """How long something takes, once."""
    start = time.perf_counter()
    act()
    return time.perf_counter() - start


def one_picture() -> tuple[float, float]:
    """Seconds to develop a kept proof with a version, and to mark where it differs; the best of five."""
    from driftline.drift import add_proofs
    from driftline.pipeline import open_frame
    from driftline.starter import demo_frames

    with tempfile.TemporaryDirectory() as temporary:
        ledger = Ledger.create(Path(temporary) / "looks", {NAME: text_of(0)})
        frame = next(path for path in demo_frames() if "wide" in path.stem)
        add_proofs(ledger, NAME, [open_frame(frame)])
        pictures, (proof,) = ProofPictures(ledger), ledger.kept_proofs()
        developed = min(seconds(lambda: pictures(f"{NAME}@1", proof)) for _ in range(6))
        return developed, min(seconds(lambda: pictures.marks(f"{NAME}@1", proof)) for _ in range(6))


def first_paint(*pages: Path) -> dict[str, float]:
    """Milliseconds to the first paint of each page, the best of three, in a running browser."""
    from playwright.sync_api import sync_playwright

    watch = (
        "() => new Promise(done => new PerformanceObserver(l => done(l.getEntries()[0].startTime))"
        ".observe({type: 'paint', buffered: true}))"
    )
    found: dict[str, float] = {}
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        for page in pages * 3:
            tab = browser.new_page(viewport={"width": 1600, "height": 900})
            tab.goto(page.as_uri(), wait_until="commit")
            painted = float(tab.evaluate(watch))
            found[page.name] = min(found.get(page.name, 1e9), painted)
            tab.close()
        browser.close()
    return found


def main() -> None:
    """Build, measure, print."""
    with tempfile.TemporaryDirectory() as temporary:
        root = Path(sys.argv[1] if len(sys.argv) > 1 else temporary)
        ledger = Ledger.open(root / "ledger") if (root / "ledger").exists() else build(root / "ledger")
        picture, marks, out = given_picture(), given_marks(), root / "pages"

        def pages() -> None:
            told = story_of(
                ledger, pictures=lambda ref, proof: picture, marks=lambda ref, proof: marks, edition="1"
            )
            build_page(out, told)

        shutil.rmtree(out, ignore_errors=True)
        shutil.rmtree(root / "bare", ignore_errors=True)
        log = min(seconds(lambda: git(ledger.path, "log", "-p", "--", "recipes")) for _ in range(3))
        peer = seconds(lambda: bare(ledger, root / "bare", picture))
        first = seconds(pages)
        nothing = min(seconds(pages) for _ in range(2))
        ledger.save(NAME, text_of(VERSIONS + 1).replace("-0.1\n", "-0.2\n"))
        again = seconds(pages)
        print(f"git log -p                   {log:7.2f} s")
        print(f"bare pages, pictures copied  {peer:7.2f} s")
        print(f"first build                  {first:7.2f} s   {first / peer:5.1f} x bare")
        print(f"after one more version       {again:7.2f} s   {again / first:5.2f} x first")
        print(f"nothing new                  {nothing:7.2f} s   {nothing / log:5.1f} x git log -p")
        developed, marked = one_picture()
        print(
            f"to make, once a (frame, version): picture {developed * 1000:.0f} ms, map {marked * 1000:.0f} ms"
        )
        longest = out / f"looks/{NAME}.html"
        print(f"page of {ledger.version(NAME).version} versions: {longest.stat().st_size / 1e6:.1f} MB")
        try:
            version = out / f"looks/{NAME}/1000.html"
            for name, ms in first_paint(out / "index.html", longest, version, out / "compare.html").items():
                print(f"first paint {name:<18} {ms:6.0f} ms")
        except ImportError:
            print("first paint: not measured, for want of Playwright")


if __name__ == "__main__":
    with suppress(KeyboardInterrupt):
        main()
