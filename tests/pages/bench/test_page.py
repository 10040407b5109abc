"""The bench in a real browser: what is edited, seen, saved, and what survives."""

from __future__ import annotations

import shutil
import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from driftline.ledger import Ledger
from pages.bench.browser import Window, chromium
from pages.bench.conftest import Running, Start

HOSTILE = '"><script>alert(1)</script><img src=x onerror=alert(2)> \u202egnp.exe ' + "long " * 300
RIGHT_TO_LEFT = "ضباب على الرصيف"

Open = Callable[[Running], Window]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """One browser for all of these."""
    with chromium() as found:
        yield found


@pytest.fixture
def look(browser: Any) -> Iterator[Callable[..., Window]]:
    """Opens windows; each must end without a complaint of the page."""
    opened: list[Window] = []

    def begin(running: Running, **settings: Any) -> Window:
        opened.append(Window(browser, running.address, **settings))
        return opened[-1]

    yield begin
    for window in opened:
        window.close()


def git(looks: Path, *words: str) -> str:
    """Plain git."""
    done = subprocess.run(["git", "-C", looks, *words], capture_output=True, text=True, check=True)
    return done.stdout


def file_of(looks: Path) -> Path:
    """The working file of ``tram-fog``."""
    return looks / "recipes" / "tram-fog.toml"


def eventually(holds: Callable[[], bool]) -> None:
    """Wait until something holds, for at most a minute."""
    for _ in range(1200):
        if holds():
            return
        time.sleep(0.05)
    assert holds()


def middle(window: Window) -> list[int]:
    """A pixel of the first proof."""
    return list(
        window.page.evaluate(
            "() => { const c = document.querySelector('#proofs canvas');"
            " return [...c.getContext('2d').getImageData(c.width / 2, c.height / 2, 1, 1).data]; }"
        )
    )


def test_an_edit_by_keyboard_is_seen_and_saved(
    start: Start, look: Callable[..., Window], looks: Path, frames: list[Path]
) -> None:
    """The picture and its distance follow the keys; undo and redo too; the save is there in plain git."""
    running = start(looks, frames[:1], "--recipe", "tram-fog")
    window = look(running)
    window.measured()
    before, far = middle(window), window.page.locator("#proofs .far").inner_text()
    window.press("exposure.ev", *["ArrowRight"] * 12)
    window.shows("exposure.ev", "+0.90")
    eventually(lambda: sum(middle(window)[:3]) > sum(before[:3]) + 12)
    eventually(lambda: window.page.locator("#proofs .far").inner_text() != far)
    window.page.keyboard.press("u")
    window.shows("exposure.ev", "+0.30")
    window.page.keyboard.press("r")
    window.shows("exposure.ev", "+0.90")
    eventually(lambda: "ev = 0.9 " in file_of(looks).read_text())

    window.page.keyboard.press("Escape")
    window.page.keyboard.down("c")
    window.page.locator("#proofs .which", has_text="camera").wait_for()
    window.page.locator("#proofs img.instead >> nth=0").wait_for(state="visible")
    window.page.keyboard.up("c")
    window.page.locator("#proofs .which", has_text="edit").wait_for()

    window.page.keyboard.press("s")
    window.page.keyboard.type(f"brighter {RIGHT_TO_LEFT}")
    window.page.keyboard.press("Enter")
    window.said("saved tram-fog@4")
    assert RIGHT_TO_LEFT in git(looks, "log", "-1", "--format=%B")
    assert "ev = 0.9 " in git(looks, "show", "HEAD:recipes/tram-fog.toml")
    assert git(looks, "status", "--porcelain") == ""
    window.page.locator(".past .label", has_text="@4").wait_for()


def test_a_text_editor_and_two_windows(
    start: Start, look: Callable[..., Window], looks: Path, frames: list[Path]
) -> None:
    """All show the same; a clash is shown and not overwritten; a file that cannot be read is left alone."""
    running = start(looks, frames[:1], "--recipe", "tram-fog")
    one, other = look(running), look(running)
    one.shows("curve.slope", "1.15")
    other.shows("curve.slope", "1.15")

    one.press("curve.slope", "ArrowRight")
    other.shows("curve.slope", "1.16")
    text = file_of(looks).read_text()
    file_of(looks).write_text(text.replace("slope = 1.16", "slope = 1.30  # by hand"))
    one.shows("curve.slope", "1.30")
    other.shows("curve.slope", "1.30")

    other.page.route("**/state*", lambda route: route.abort())  # it does not hear for a while
    other.said("does not answer")
    one.press("curve.slope", "ArrowRight", "ArrowRight")
    eventually(lambda: "1.32  # by hand" in file_of(looks).read_text())
    other.press("curve.slope", "ArrowLeft")
    clash = other.page.locator("#clash", has_text="another window made it 1.32; yours was 1.29")
    clash.wait_for()
    assert "1.32  # by hand" in file_of(looks).read_text()
    other.page.unroute("**/state*")
    clash.get_by_text("take mine").click()
    one.shows("curve.slope", "1.29")

    good = file_of(looks).read_bytes()
    file_of(looks).write_text("[curve\nslope = ")
    one.page.locator("#clash", has_text="left alone").wait_for()
    one.press("curve.slope", "ArrowRight")
    one.said("tram-fog.toml")
    assert file_of(looks).read_text() == "[curve\nslope = "
    file_of(looks).write_bytes(good)
    one.page.locator("#clash").wait_for(state="hidden")
    one.shows("curve.slope", "1.29")


def test_undo_survives_a_reload_and_a_restart(
    start: Start, look: Callable[..., Window], looks: Path, frames: list[Path]
) -> None:
    """After a reload, a kill and a restart, and another recipe in between, U and R go on where they were."""
    running = start(looks, frames[:1], "--recipe", "tram-fog")
    window = look(running)
    for number in ("1.3", "1.4"):
        window.press("curve.slope", "Enter")
        window.page.keyboard.type(number)
        window.page.keyboard.press("Enter")
        window.shows("curve.slope", number)
        eventually(lambda number=number: f"slope = {number}" in file_of(looks).read_text())
    window.page.keyboard.press("u")
    window.shows("curve.slope", "1.30")
    window.page.reload()
    window.shows("curve.slope", "1.30")
    window.page.keyboard.press("r")
    window.shows("curve.slope", "1.40")
    eventually(lambda: "slope = 1.4" in file_of(looks).read_text())
    running.kill()

    window = look(start(looks, frames[:1], "--recipe", "tram-fog"))
    window.shows("curve.slope", "1.40")
    window.page.keyboard.press("u")
    window.shows("curve.slope", "1.30")
    window.page.locator("#recipe").select_option("quay-night")
    window.shows("curve.slope", "1.20")
    window.page.locator("#recipe").select_option("tram-fog")
    window.shows("curve.slope", "1.30")
    window.page.locator("h1 select").evaluate("one => one.blur()")
    window.page.keyboard.press("u")
    window.shows("curve.slope", "1.15")


def test_a_file_outside_the_ledger_is_taken_in(
    start: Start, look: Callable[..., Window], looks: Path, frames: list[Path], tmp_path: Path
) -> None:
    """The page says where it lies and edits it there; saving asks for a name, and goes on in the ledger."""
    file = tmp_path / "from-a-friend.toml"
    file.write_text("curve.slope = 1.1  # softer than mine\n")
    window = look(start(looks, frames[:1], "--recipe", str(file)))
    window.page.locator("#stands", has_text=f"{file}, outside the ledger").wait_for()
    window.press("curve.slope", "ArrowRight")
    window.shows("curve.slope", "1.11")
    eventually(lambda: file.read_text() == "curve.slope = 1.11  # softer than mine\n")
    window.page.locator("#note").fill("a present")
    window.page.keyboard.press("Enter")
    assert window.page.locator("#deed input[name=new]").input_value() == "from-a-friend"
    assert window.page.locator("#deed input[name=why]").input_value() == "a present"
    window.page.get_by_role("button", name="Take it in").click()
    window.said("saved from-a-friend@1")
    assert git(looks, "show", "HEAD:recipes/from-a-friend.toml").endswith(
        "slope = 1.11  # softer than mine\n"
    )
    assert "from-a-friend.toml" in window.page.locator("#recipe").inner_text()
    window.press("curve.slope", "ArrowRight")
    eventually(lambda: "slope = 1.12" in (looks / "recipes" / "from-a-friend.toml").read_text())
    assert "slope = 1.11" in file.read_text()


def test_killed_in_the_middle_of_a_save(
    start: Start, look: Callable[..., Window], looks: Path, frames: list[Path]
) -> None:
    """Before or after, never between; the edit is there after a restart, unsaved or as the next version."""
    for turn, delay in enumerate((0.0, 0.15, 0.6)):
        running = start(looks, frames[:1], "--recipe", "tram-fog")
        window = look(running)
        window.press("curve.toe", *["ArrowRight"] * 3)
        toe = f"{0.06 * (turn + 1):.2f}"
        window.shows("curve.toe", f"+{toe}")
        eventually(lambda toe=toe: f"toe = {toe.rstrip('0')}" in file_of(looks).read_text())
        before = git(looks, "rev-parse", "HEAD").strip()
        window.page.locator("#save").click()
        time.sleep(delay)
        running.kill()
        git(looks, "fsck", "--strict")
        head = git(looks, "rev-parse", "HEAD").strip()
        assert head == before or git(looks, "rev-parse", "HEAD~1").strip() == before
        ledger = Ledger.open(looks)
        assert ledger.working_text("tram-fog").count(f"toe = {toe.rstrip('0')}") == 1
        assert ledger.working_differs("tram-fog") == (head == before)
    again = look(start(looks, frames[:1], "--recipe", "tram-fog"))
    again.shows("curve.toe", "+0.18")
    again.page.reload()
    again.shows("curve.toe", "+0.18")


def test_what_is_hostile_is_text(
    start: Start, look: Callable[..., Window], looks: Path, frames: list[Path], tmp_path: Path
) -> None:
    """Names of frames and notes with markup, very long, or running the other way are shown as they are."""
    frame = tmp_path / '"><img src=x onerror=alert(3)>\u202e.dng'
    shutil.copy(frames[0], frame)
    broken = tmp_path / "<b>broken.dng"
    broken.write_bytes(frames[0].read_bytes()[:4000])
    window = look(start(looks, [frame, broken], "--recipe", "tram-fog"))
    window.measured()
    page = window.page
    page.locator("#proofs .broken .far", has_text="<b>broken.dng").wait_for()
    assert page.locator("#proofs .title bdi").first.inner_text() == frame.name

    window.press("curve.slope", "ArrowRight")
    page.locator("#note").fill(HOSTILE)
    page.locator("#save").click()
    window.said("saved tram-fog@4")
    page.locator(".past .label", has_text="@4").wait_for()
    page.locator("#past").focus()
    page.keyboard.press("k")
    assert page.locator("#version .note").inner_text().startswith('"><script>alert(1)</script><img src=x')
    assert page.locator("#version .note").get_attribute("dir") == "auto"

    page.keyboard.press("f")
    page.locator("#deed input[name=new]").fill("<img src=x onerror=alert(4)>")
    page.get_by_role("button", name="Fork", exact=True).click()
    window.said("<img src=x onerror=alert(4)>")
    page.locator("#deed input[name=new]").fill("a" * 64)
    page.get_by_role("button", name="Fork", exact=True).click()
    window.said(f"saved {'a' * 64}@1")
    assert page.locator("img[src='x'], script:not([src])").count() == 0
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_temper_and_compare(
    start: Start, look: Callable[..., Window], looks: Path, frames: list[Path]
) -> None:
    """A softer one is looked at, taken, and taken back; two versions are told apart in words."""
    window = look(start(looks, frames[:1], "--recipe", "tram-fog"))
    page = window.page
    window.measured()
    window.press("chroma.scale", "Enter")
    page.keyboard.type("1.45")
    page.keyboard.press("Enter")
    page.locator("#drift h2", has_text="leaning").wait_for()
    page.locator(".order input[value=share]").check()
    page.locator(".asked:nth-of-type(1)[data-key=colours] .share", has_text="moves it by").wait_for()
    page.get_by_role("button", name="all sixteen causes").click()
    assert page.locator("#drift li").count() == 16
    page.get_by_role("button", name="the telling ones").click()
    assert page.locator("#drift li").count() <= 5
    page.keyboard.press("t")
    page.get_by_role("button", name="Look", exact=True).click()
    page.locator("#deed .outcome", has_text="You see the softer one now").wait_for()
    page.locator("#drift h2", has_text="in keeping").wait_for()
    assert page.locator("#proofs .which").inner_text() == "softer"
    window.shows("chroma.scale", "1.45")
    assert "scale = 1.45" in file_of(looks).read_text()
    page.get_by_role("button", name="Take it", exact=True).click()
    window.said("taken")
    assert float(window.value("chroma.scale")) < 1.45
    page.keyboard.press("Escape")
    page.keyboard.press("u")
    window.shows("chroma.scale", "1.45")

    page.keyboard.press("m")
    page.locator("#deed select[name=a]").select_option("tram-fog@1")
    page.locator("#deed select[name=b]").select_option("tram-fog@2")
    page.get_by_role("button", name="Compare", exact=True).click()
    page.locator("#deed .outcome", has_text="contrast 1.10 → 1.20").wait_for()
    assert page.locator("#hung .proof").count() == 2


def test_on_a_small_screen(
    start: Start, look: Callable[..., Window], looks: Path, frames: list[Path]
) -> None:
    """At 360 px nothing runs over the edge, and the proof stays in sight beside the line that is moved."""
    window = look(start(looks, frames[:1], "--recipe", "tram-fog"), color_scheme="dark")
    page = window.page
    page.set_viewport_size({"width": 360, "height": 740})
    window.measured()
    assert page.evaluate("document.documentElement.scrollWidth") == 360
    at = window.at("curve.shoulder")
    at.scroll_into_view_if_needed()
    box = at.bounding_box()
    page.mouse.click(box["x"] + box["width"] * 0.75, box["y"] + box["height"] / 2)
    window.shows("curve.shoulder", "+0.5")
    assert page.locator("#mini canvas").bounding_box()["y"] >= 0
    page.locator("#does", has_text="shoulder").wait_for()
    page.evaluate("scrollTo(0, document.documentElement.scrollHeight)")
    window.at("curve.slope").focus()
    label = page.locator('[data-path="curve.slope"] .label').bounding_box()
    mini = page.locator("#mini").bounding_box()
    assert label["y"] >= mini["y"] + mini["height"]
    for words in ("without it", "with it"):
        page.locator(f"#does img[alt*='{words}']").wait_for()
    assert page.evaluate(NAMELESS) == []


NAMELESS = """() => [...document.querySelectorAll("button, input, select, canvas, [role=slider], img")]
  .filter((one) => one.offsetParent && !(one.getAttribute("aria-label") || one.getAttribute("alt")
    || one.innerText || one.labels?.length || document.getElementById(one.getAttribute("aria-labelledby"))
    || one.closest("[aria-hidden=true]")))
  .map((one) => one.outerHTML.slice(0, 120))"""
"""What can be seen or used and has no name for who does not see it."""
