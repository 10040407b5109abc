"""How long it takes on the bench from a change to new pixels, and to the new drift, seen in the browser.

    PYTHONPATH=demo_raws:tests .venv/bin/python tests/benchmarks/bench_live.py [FRAME...]

Drives Chromium: presses an arrow key on a line of the data sheet, one change after another, and reads the
page's own clock (performance.now) from the key to the frame after the new picture was drawn. The peer is the
same change with the picture taken away: how long the browser and the way to the server take by themselves.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median, quantiles

from playwright.sync_api import Page, sync_playwright

import demo_frames
from driftline.ledger import Ledger

CHROMIUM = "/usr/bin/chromium"
CHANGES = 40
LINES = ("curve.slope", "exposure.ev", "chroma.scale", "split.low.chroma", "white.shift")
MEASURED = "performance.getEntriesByType('measure').map((m) => [m.name, m.duration])"


def main(frames: list[Path]) -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        looks = Path(folder) / "looks"
        Ledger.create(looks, {"tram-fog": "curve.slope = 1.1\n\n[chroma]\nscale = 1.05\n"})
        command = [sys.executable, "-m", "driftline", "bench", *map(str, frames), "--ledger", str(looks)]
        served = subprocess.Popen([*command, "--json"], stdout=subprocess.PIPE, text=True)
        assert served.stdout
        try:
            address = json.loads("".join(served.stdout.readline() for _ in range(3)))["address"]
            _drive(address, frames)
        finally:
            served.send_signal(2)
            served.wait(20)


def _drive(address: str, frames: list[Path]) -> None:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        page = browser.new_page(viewport={"width": 1600, "height": 1000}, bypass_csp=True)  # to look inside
        page.goto(address)
        page.wait_for_function("document.querySelector('#drift h2')", timeout=120_000)
        page.wait_for_timeout(2000)
        size = page.evaluate(
            "(() => { const c = document.querySelector('canvas'); return [c.width, c.height]; })()"
        )
        print(
            f"{frames[0].name} and {len(frames) - 1} more, preview {size[0]} x {size[1]}, {browser.version}"
        )
        way = [page.evaluate(_ROUND_TRIP) for _ in range(30)]
        print(f"  nothing but the way there and back   median {median(way):6.1f} ms")
        _one_by_one(page)
        _without_a_pause(page)
        browser.close()


_ROUND_TRIP = """async () => { const start = performance.now(); await fetch("state");
 await new Promise((then) => requestAnimationFrame(() => setTimeout(then)));
 return performance.now() - start; }"""


def _one_by_one(page: Page) -> None:
    """Each change waits for the drift of the one before."""
    page.evaluate("performance.clearMeasures()")
    for change in range(CHANGES):
        page.locator(f"[data-path='{LINES[change % len(LINES)]}'] .track").focus()
        before = sum(name == "change to drift" for name, _ in page.evaluate(MEASURED))
        page.keyboard.press("ArrowRight")
        page.wait_for_function(
            f"performance.getEntriesByName('change to drift').length > {before}", timeout=20_000
        )
        page.wait_for_timeout(450)
    _told("one change after another", page)


def _without_a_pause(page: Page) -> None:
    """A point is dragged: a change every 16 ms, as a hand does."""
    page.evaluate("performance.clearMeasures()")
    box = page.locator("[data-path='curve.slope'] .track").bounding_box()
    assert box
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + 20)
    page.mouse.down()
    for step in range(160):
        page.mouse.move(box["x"] + box["width"] * (0.5 + 0.3 * ((step % 80) / 80)), box["y"] + 20)
        page.wait_for_timeout(16)
    page.mouse.up()
    page.wait_for_timeout(1500)
    _told("while a point is dragged", page)


def _told(what: str, page: Page) -> None:
    found = page.evaluate(MEASURED)
    for name in ("change to pixels", "change to drift"):
        times = [duration for measured, duration in found if measured == name]
        if len(times) > 1:
            late = quantiles(times, n=20)[-1]
            print(f"  {what}: {name:17s} median {median(times):6.1f} ms, 95 % {late:6.1f} ms, n {len(times)}")


if __name__ == "__main__":
    main([Path(one) for one in sys.argv[1:]] or [demo_frames.named("noon-wide")])
