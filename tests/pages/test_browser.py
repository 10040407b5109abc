"""The pages in a real browser: quiet, local, usable by keyboard, right at every width, exact in words."""

from __future__ import annotations

import random
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from driftline.pages import Look, Proof, Story, build_page
from driftline.pages.story import Shoot
from driftline.recipe import FILTER_NAMES, Recipe, differences, from_parameters, in_words, parameters
from pages.history import FOG, HOSTILE, NIGHT, picture, reading, story, trend, version

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

WIDTHS = (360, 900, 1600)
PAGES = ("index.html", "looks/tram-fog.html", "looks/tram-fog/2.html", "compare.html")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Chromium as the system has it; nothing is downloaded."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    if chromium is None:
        pytest.skip("no chromium on the path: apt-get install chromium")
    playwright = pytest.importorskip("playwright.sync_api", reason="no Playwright: pip install playwright")
    with playwright.sync_playwright() as play:
        opened = play.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        yield opened
        opened.close()


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The made-up history as pages."""
    return build_page(tmp_path_factory.mktemp("site") / "pages", story()).parent


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A history whose every text is HTML, very long, or right to left, without a space to break at."""
    long, rtl = "W" * 3000, "\u05e9\u05dc\u05d5\u05dd " * 40
    name = f"{HOSTILE}{'w' * 200}"
    versions = tuple(
        version(
            f"{name}@{n}", n, reading(NIGHT, exposure=0.3 * n), note=note, words=(note,), kind="fork",
            parents=(f"{name}@{n - 1}",), pictures={NIGHT: picture(f"{n}"), FOG: picture(f"fog {n}")},
            text=lambda note=note: note,
        )
        for n, note in enumerate((HOSTILE, long, rtl), start=1)
    )  # fmt: skip
    proofs = (Proof(NIGHT, long, picture(f"camera {HOSTILE}")), Proof(FOG, HOSTILE, None, HOSTILE))
    shoots = (Shoot(long, None, None, {versions[0].ref: 3, "gone@1": 2}),)
    told = Story(
        long, (Look(name, rtl + HOSTILE, versions, trend(versions)),), proofs, shoots=shoots, unread=long
    )
    return build_page(tmp_path_factory.mktemp("hostile") / "pages", told).parent


DRAWN = """() => {
  const bare = e => /rgba?\\(0, 0, 0, 0\\)/.test(getComputedStyle(e).backgroundColor);
  const says = e => [...e.childNodes].some(n => n.nodeType === 3 && n.data.trim());
  return [...document.querySelectorAll("body *")]
    .filter(e => e.checkVisibility() && says(e) && !e.closest("svg")).map(e => {
      let behind = e;
      while (behind.parentElement && bare(behind)) behind = behind.parentElement;
      return [getComputedStyle(e).color, getComputedStyle(behind).backgroundColor, e.outerHTML.slice(0, 80)];
    });
}"""


class Watched:
    """A tab, and all that it said or asked for."""

    def __init__(self, browser: Browser, width: int = 900, **given: Any) -> None:
        self.page: Page = browser.new_page(viewport={"width": width, "height": 800}, **given)
        self.page.set_default_timeout(8000)
        self.said: list[str] = []
        self.asked: set[str] = set()
        self.page.on("console", lambda message: self.said.append(message.text))
        self.page.on("pageerror", lambda error: self.said.append(str(error)))
        self.page.on("dialog", lambda dialog: self.said.append(f"dialog: {dialog.message}"))
        self.page.on("request", lambda request: self.asked.add(request.url.partition(":")[0]))

    def open(self, path: Path, fragment: str = "") -> Page:
        """Go to a page on disk."""
        self.page.goto(f"{path.as_uri()}{fragment}")
        return self.page


@pytest.fixture
def tab(browser: Browser) -> Iterator[Watched]:
    """A tab that must have stayed quiet and local at the end."""
    watched = Watched(browser)
    yield watched
    watched.page.close()
    assert watched.said == []
    assert watched.asked <= {"file"}


def too_wide(page: Page) -> list[str]:
    """What sticks out of the page to the right, unless it scrolls within itself."""
    return page.evaluate(
        """() => document.documentElement.scrollWidth <= innerWidth ? [] :
          [...document.querySelectorAll("body *")]
          .map(e => [Math.round(e.getBoundingClientRect().right), `${e.tagName}.${e.className}`])
          .filter(([right]) => right > innerWidth + 1).map(String)"""
    )


@pytest.mark.parametrize("width", WIDTHS)
def test_pages_are_quiet_local_and_fit(tab: Watched, site: Path, width: int) -> None:
    """No page says anything on the console, asks for anything but files, or scrolls sideways."""
    tab.page.set_viewport_size({"width": width, "height": 800})
    for name in PAGES:
        assert too_wide(tab.open(site / name)) == [], name


@pytest.mark.parametrize("width", WIDTHS)
def test_hostile_texts_stay_texts_and_fit(tab: Watched, hostile: Path, width: int) -> None:
    """HTML, 3,000 letters without a space and right-to-left text run nothing and widen nothing."""
    tab.page.set_viewport_size({"width": width, "height": 800})
    for path in sorted(hostile.rglob("*.html")):
        page = tab.open(path)
        page.wait_for_timeout(50)
        assert page.locator("img[src=x]").count() == 0
        assert too_wide(page) == [], path.name


def test_hostile_names_are_shown_by_the_scripts_as_text(tab: Watched, hostile: Path) -> None:
    """The chooser and the comparison set texts, never HTML; notes run right to left where they should."""
    (look,) = (hostile / "looks").glob("*.html")
    page = tab.open(look)
    page.locator(".choose select").select_option("1")
    page.wait_for_selector(".far:has-text('not measured')")
    page = tab.open(hostile / "compare.html")
    page.wait_for_selector("#changes dd")
    assert "<script>alert(1)</script>" in page.locator("#count").inner_text()
    page.locator("#on").select_option(index=1)
    page.wait_for_selector(".hangs .nothing")
    assert "<script>alert(1)</script>" in page.locator(".hangs .nothing").inner_text()
    assert page.locator("img[src=x]").count() == 0
    page = tab.open(look)
    notes = page.locator(".note")
    assert notes.nth(2).evaluate("e => getComputedStyle(e).direction") == "rtl"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_is_readable_as_it_is_drawn(browser: Browser, site: Path, scheme: str) -> None:
    """Every text on every page has 4.5 to 1 against what lies behind it (WCAG 2.2, 1.4.3)."""
    watched = Watched(browser, color_scheme=scheme)
    for name in PAGES:
        page = watched.open(site / name)
        page.wait_for_load_state()
        pairs = page.evaluate(DRAWN)
        assert len(pairs) > 10
        for ink, paper, where in pairs:
            assert contrast(ink, paper) >= 4.5, (name, where, ink, paper)
    assert watched.page.evaluate("getComputedStyle(document.documentElement).colorScheme") == "light dark"
    watched.page.close()


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours as the browser gives them (WCAG 2.2, relative luminance)."""

    def luminance(colour: str) -> float:
        channels = [float(part) / 255 for part in colour[colour.index("(") + 1 : -1].split(",")[:3]]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("name", PAGES)
def test_the_keyboard_reaches_everything(tab: Watched, site: Path, name: str) -> None:
    """Tab comes by every link, choice and button, in order, and where it is can be seen."""
    page = tab.open(site / name)
    page.wait_for_timeout(100)
    wanted = page.evaluate(
        """() => [...document.querySelectorAll("a[href], button, select, pre[tabindex]")]
          .filter(e => e.tabIndex >= 0 && e.checkVisibility())
          .map((e, n) => { e.dataset.n = n; return n; })"""
    )
    reached, unseen = [], []
    for _ in wanted:
        page.keyboard.press("Tab")
        at, outline = page.evaluate(
            "() => [document.activeElement.dataset.n, getComputedStyle(document.activeElement).outlineWidth]"
        )
        reached.append(int(at))
        if float(outline.removesuffix("px")) < 2:
            unseen.append(at)
    assert reached == wanted
    assert unseen == []


def test_keys_go_through_time_and_show_the_camera(tab: Watched, site: Path) -> None:
    """J and K go from version to version, in the field and by pages; C shows the camera while held."""
    page = tab.open(site / "looks/tram-fog.html")
    for key, anchor in (("j", "v-1"), ("j", "v-2"), ("k", "v-1"), ("k", "v-1")):
        page.keyboard.press(key)
        assert page.evaluate("document.activeElement.id") == anchor
    page = tab.open(site / "looks/tram-fog/1.html")
    page.keyboard.press("j")
    page.wait_for_url("**/2.html")
    edited, camera = (
        page.locator(f"[aria-label='01-night-wide.dng'] .{side} img") for side in ("edited", "camera")
    )
    own = edited.get_attribute("src")
    page.keyboard.down("c")
    assert edited.get_attribute("src") == camera.get_attribute("src") != own
    page.keyboard.up("c")
    assert edited.get_attribute("src") == own


def test_a_jump_across_a_long_history_lands(tab: Watched, tmp_path: Path) -> None:
    """A year's link brings its first version to the top, though nothing before it was laid out."""
    many = tuple(version(f"a@{n}", n * 4, reading(), note="a note " * (n % 9)) for n in range(1, 301))
    front = build_page(tmp_path / "p", Story("t", (Look("a", "", many, trend(many)),)))
    page = tab.open(front.parent / "looks/a.html")
    page.locator(".years a").nth(2).click()
    page.wait_for_timeout(400)
    top = page.evaluate("document.querySelector(location.hash).getBoundingClientRect().top")
    assert 30 <= top <= 60


def test_a_look_is_seen_on_another_proof(tab: Watched, site: Path) -> None:
    """Each version moves to its distance on the chosen proof, with that picture; and back as it was."""
    page = tab.open(site / "looks/tram-fog.html")
    before = page.locator(".time").inner_html()
    stands = page.locator(".stand")
    page.locator(".choose select").select_option(label="04-fog-wide.dng")
    page.wait_for_selector(".stand:nth-child(1).unmeasured")
    assert stands.nth(1).evaluate("e => e.style.getPropertyValue('--d')") == "3.529"
    assert stands.nth(1).locator(".far").inner_text() == "3.5 × notice, overdone"
    assert stands.nth(1).locator("img").get_attribute("alt") == "04-fog-wide.dng, developed with tram-fog@2"
    assert stands.nth(0).locator(".frame").inner_text() == "no picture was kept"
    assert page.locator(".hangs:visible").inner_text().startswith("the file carries none")
    page.locator(".choose select").select_option(label="01-night-wide.dng")
    page.wait_for_function("document.querySelectorAll('.stand')[1].style.getPropertyValue('--d') === '2.353'")
    page.locator(".choose select").select_option("")
    page.wait_for_function("document.querySelectorAll('.stand')[1].style.getPropertyValue('--d') === '3.529'")
    assert page.locator(".time").inner_html() == before


def test_numbers_that_are_missing_are_asked_for_in_words(
    browser: Browser, site: Path, tmp_path: Path
) -> None:
    """A folder copied in part says which file is not there."""
    watched = Watched(browser)
    copy = Path(shutil.copytree(site, tmp_path / "pages"))
    shutil.rmtree(copy / "data")
    page = watched.open(copy / "compare.html")
    page.wait_for_selector("#trouble:not(:empty)")
    assert page.locator("#trouble").inner_text() == "data/quay-dusk.js: is not there; build the pages again"
    page.close()


def test_pages_are_whole_without_scripts(browser: Browser, site: Path) -> None:
    """With scripts off nothing is offered that would not work, and the history is there."""
    watched = Watched(browser, java_script_enabled=False)
    page = watched.open(site / "looks/tram-fog.html")
    assert not page.locator(".choose").is_visible()
    assert page.locator(".stand").count() == 4
    page = watched.open(site / "compare.html")
    assert "needs its script" in page.locator("main").inner_text()
    assert not page.locator(".pick").is_visible()
    page.close()


def test_any_two_versions_across_looks(tab: Watched, site: Path) -> None:
    """Chosen by the address or by hand; differences in words, both at their distance; a reload keeps it."""
    page = tab.open(site / "compare.html", "#from=tram-fog@1&to=quay-dusk@1")
    page.wait_for_selector("#changes dd")
    assert page.locator("#count").inner_text() == "From tram-fog@1 to quay-dusk@1, 1 parameter differs."
    assert page.locator("#changes").inner_text().split("\n") == ["How bright", "exposure 0.00 → +0.03 EV"]
    page.locator("#turn").click()
    page.wait_for_selector("#count:has-text('From quay-dusk@1')")
    page.locator("#to-version").select_option(label="@4, 15 March 2031")
    page.wait_for_selector("#changes:has-text('+0.03 → +0.12')")
    page.locator("#on").select_option("01-night-wide.dng")
    page.wait_for_selector("#stand-to .far:has-text('1.2 × notice, leaning')")
    assert page.locator("#stand-from .far").inner_text() == "not measured"
    page.reload()
    page.wait_for_selector("#changes:has-text('+0.03 → +0.12')")
    assert page.locator("#on").input_value() == "01-night-wide.dng"
    page.locator("#stand-to h3 a").click()
    page.wait_for_url("**/looks/tram-fog/4.html")


def test_the_same_version_twice_differs_in_nothing(tab: Watched, site: Path) -> None:
    """It is said, and no list is shown."""
    page = tab.open(site / "compare.html", "#from=tram-fog@2&to=tram-fog@2")
    page.wait_for_selector("#count:has-text('no parameter differs')")
    assert page.locator("#changes > *").count() == 0


def random_recipe(chance: random.Random) -> Recipe:
    """A recipe that uses any of the format, often the same values as others."""

    def some(low: float, high: float, digits: int) -> float:
        return round(chance.choice((low, high, chance.uniform(low, high))), digits)

    values: dict[str, Any] = {
        "exposure.ev": some(-1, 1, 3), "curve.slope": some(0.8, 1.4, 2), "curve.toe": some(-0.5, 0.5, 2),
        "chroma.scale": some(0.5, 1.5, 2),
        "split.low.hue": some(0, 359, 0), "split.low.chroma": some(0, 0.05, 3),
        "split.high.hue": some(0, 359, 0), "split.high.chroma": chance.choice((0.0, 0.012)),
        "grain.rms_granularity": chance.choice((0.0, 2.5, 12.25)), "white.duv": some(-0.01, 0.01, 4),
        "exposure.anchor": chance.choice(("camera", "metered")), "split.pivot": some(0.3, 0.6, 2),
    }  # fmt: skip
    values |= chance.choice(
        ({"white.shift": chance.choice((0.0, 12.5, 13.5, -8.0))}, {"white.kelvin": 5200.0}, {})
    )
    values |= chance.choice(
        ({}, {"mono.filter": chance.choice(FILTER_NAMES)}, {"mono.weights": (0.3, 0.6, 0.1)})
    )
    for name in chance.sample(("brick", "leaf", "sky"), chance.randrange(3)):
        values |= {f"chroma.band.{name}.hue": some(0, 350, 1), f"chroma.band.{name}.width": 30.0}
        values |= {
            f"chroma.band.{name}.turn": some(-4, 4, 0),
            f"chroma.band.{name}.lightness": some(0, 0.1, 3),
        }
    return from_parameters(values)


def test_the_words_are_those_of_the_ledger(tab: Watched, tmp_path: Path) -> None:
    """For 1,600 pairs of recipes the page says exactly what :func:`driftline.recipe.in_words` says."""
    chance = random.Random(5)
    recipes = [random_recipe(chance) for _ in range(40)]
    versions = tuple(version(f"a@{n}", n, values=parameters(one)) for n, one in enumerate(recipes, start=1))
    front = build_page(tmp_path / "p", Story("t", (Look("a", "", versions),)))
    page = tab.open(front.parent / "compare.html")
    page.wait_for_selector("#changes dd")
    said = page.evaluate(
        """() => { const its = numbers.get("a"), all = [...its.labels.keys()];
          const said = (a, b) => wordsOf(changesBetween(its, a, its, b)).map(phrase => phrase.text);
          return all.flatMap(a => all.map(b => said(a, b))); }"""
    )
    expected = [in_words(differences(a, b)) for a in recipes for b in recipes]
    assert len(said) == len(expected) == 1600
    wrong = [(one, other) for one, other in zip(said, expected, strict=True) if one != other]
    assert wrong == []
