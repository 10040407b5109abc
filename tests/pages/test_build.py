"""The pages themselves: whole, self-contained, readable, safe."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
from lxml import html

from driftline.errors import LedgerError
from driftline.pages import Look, Proof, Story, build_page
from pages.history import FOG, HOSTILE, NIGHT, image, picture, reading, story, trend, version


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The made-up history as pages."""
    return build_page(tmp_path_factory.mktemp("site") / "pages", story()).parent


def pages(site: Path) -> Iterator[tuple[Path, html.HtmlElement]]:
    """Every page, parsed."""
    for path in sorted(site.rglob("*.html")):
        yield path, html.document_fromstring(path.read_text(encoding="utf-8"))


def words(element: html.HtmlElement) -> str:
    """The visible text, white space made equal."""
    return " ".join(element.text_content().split())


def page(site: Path, name: str) -> html.HtmlElement:
    """One page, parsed."""
    return html.document_fromstring((site / name).read_text(encoding="utf-8"))


def test_every_look_and_version_has_its_page(site: Path) -> None:
    """One front page, one page a look, one a version."""
    found = {str(path.relative_to(site)) for path in site.rglob("*.html")}
    assert found == {
        "index.html",
        "compare.html",
        "looks/quay-dusk.html",
        "looks/quay-dusk/1.html",
        "looks/quay-dusk/2.laptop.html",
        "looks/tram-fog.html",
        *(f"looks/tram-fog/{number}.html" for number in range(1, 5)),
    }


def test_every_address_leads_to_a_file_of_the_folder(site: Path) -> None:
    """Links, pictures, style and script are all there, below the folder, and nothing is on a network."""
    for path, tree in pages(site):
        for address in [*tree.xpath("//@href"), *tree.xpath("//@src")]:
            parts = urlsplit(address)
            assert not parts.scheme
            assert not parts.netloc
            if parts.path:
                target = (path.parent / unquote(parts.path)).resolve()
                assert target.is_file(), (path, address)
                assert target.is_relative_to(site)
    for name in ("page.css", "page.js"):
        assert not re.search(r"https?:|//[a-z]|url\(|@import|fetch|import\(", (site / name).read_text())


def test_a_version_stands_at_its_measured_distance(site: Path) -> None:
    """The place in the field is the largest ratio of judged amount to notice, of the worst proof."""
    places = [
        re.search(r"--d:([\d.]+)", style) for style in page(site, "looks/tram-fog.html").xpath("//li/@style")
    ]
    measured = [float(found[1]) for found in places if found]
    assert measured == pytest.approx(
        [0.588, 3.529, 3.529, 1.2]
    )  # the third was not measured: the thread only passes


def test_an_unmeasured_version_is_not_drawn_on_the_line(site: Path) -> None:
    """Without drift there is no measure line, and the words say it."""
    (stand,) = page(site, "looks/tram-fog.html").xpath("//li[contains(@class, 'unmeasured')]")
    assert "--d:3.529;--b:3.529" in stand.get("style")  # where the thread passes
    assert "not measured" in words(stand)


def test_beyond_the_edge_is_said(site: Path) -> None:
    """A version farther out than the page is wide is drawn at the edge, with its true distance in words."""
    stand = page(site, "looks/quay-dusk.html").xpath("//li")[0]
    assert "--d:4.0" in stand.get("style")
    assert "8.8 × notice, overdone; beyond the edge of this page" in words(stand)


def test_time_runs_downwards(site: Path) -> None:
    """Versions follow one another oldest first."""
    names = [words(h) for h in page(site, "looks/tram-fog.html").xpath("//ol//h3")]
    assert names == ["tram-fog@1", "tram-fog@2", "tram-fog@3", "tram-fog@4"]


def test_a_version_tells_change_note_drift_and_text(site: Path) -> None:
    """Its page has the change, each cause with floor, edit, total, judged and verdict, and the recipe."""
    tree = page(site, "looks/tram-fog/4.html")
    assert "exposure +0.10 EV" in words(tree)
    row = next(row for row in tree.xpath("//tbody/tr") if words(row).startswith("exposure"))
    cells = [words(cell) for cell in row.xpath("./td[@data-is]")]
    assert cells == ["+0.05 EV", "+0.20 EV", "+0.25 EV", "+0.20 EV", "leaning"]
    assert "hues: not comparable, too little colour in the frame" in words(tree)
    assert words(tree.xpath("//pre")[0]) == 'name = "tram-fog"'


def test_proofs_stand_beside_their_camera_rendering(site: Path) -> None:
    """Both pictures, or the reason why one is missing."""
    night, fog = reversed(page(site, "looks/tram-fog/2.html").xpath("//section[@class='pair']"))
    assert len(night.xpath("./div[@class='two']//img")) == 2
    assert "the file carries none" in words(fog)


def test_where_a_version_differs_is_drawn_and_told(site: Path) -> None:
    """The map lies over the version's own picture; its words stand beside it, and a legend of shapes."""
    pair = page(site, "looks/tram-fog/4.html").xpath("//section[@class='pair']")[0]
    under, marks = pair.xpath(".//figure[@class='over']//img")
    assert under.get("src") == pair.xpath(".//figure[@class='edited']//img/@src")[0]
    told = "Laid against the camera rendering, 50 % of the picture would be noticed"
    assert marks.get("alt").replace("\u00a0", " ").startswith(told)
    assert told in words(pair.xpath(".//div[@class='reads']/p")[0])
    assert len(pair.xpath(".//ul[@class='legend']/li")) == 6
    assert (site / "looks/tram-fog" / marks.get("src")).resolve().read_text().startswith("<svg ")


def test_a_version_gives_its_recipe_file(site: Path) -> None:
    """The file is there as it was saved, under a name that says whose it is."""
    (link,) = page(site, "looks/tram-fog/4.html").xpath("//a[@download]/@href")
    assert (site / "looks/tram-fog" / link).resolve() == site / "looks/tram-fog/tram-fog.4.toml"
    assert (site / "looks/tram-fog/tram-fog.4.toml").read_text() == 'name = "tram-fog"\n'


def test_a_look_tells_how_it_settles_and_where_it_was_used(site: Path) -> None:
    """Every parameter that moved has its path with words; every shoot its prints."""
    tree = page(site, "looks/tram-fog.html")
    names = [words(h) for h in tree.xpath("//ul[@class='paths']//h3")]
    assert names == ["distance from the camera", "exposure"]
    assert all(drawing.get("aria-label") for drawing in tree.xpath("//ul[@class='paths']//svg"))
    (shoots,) = tree.xpath("//ul[@class='shoots']")
    assert "harbour, 1 April 2031 to 2 April 2031: 13 prints; 12 with tram-fog@4" in words(shoots)
    assert "nothing was printed with it" in words(page(site, "looks/quay-dusk.html"))


def test_versions_and_the_front_page_name_their_shoots(site: Path) -> None:
    """A version names the shoots it printed; one that printed none says so."""
    used = words(page(site, "looks/tram-fog/2.html").xpath("//ul[@class='shoots']")[0])
    assert "harbour" in used
    assert "a.dng to c.dng, 9 March 2031: 3 prints with tram-fog@2" in used
    assert "nothing was printed with this version" in words(page(site, "looks/tram-fog/1.html"))
    assert len(page(site, "index.html").xpath("//ul[@class='shoots']/li")) == 2


def test_a_record_of_prints_that_cannot_be_read_is_said(tmp_path: Path) -> None:
    """Front page, look and version say what is wrong with it instead of claiming that nothing was printed."""
    build_page(tmp_path / "p", story(shoots=(), unread="line 1: not a JSON object"))
    for name in ("index.html", "looks/tram-fog.html", "looks/tram-fog/4.html"):
        assert "could not be read: line 1: not a JSON object" in words(page(tmp_path / "p", name))


def test_a_long_history_is_told_as_a_whole_first(tmp_path: Path) -> None:
    """Its paths and its years stand before its versions, and every year leads to one of them."""
    long = tuple(version(f"a@{n}", n * 10, reading()) for n in range(1, 80))
    build_page(tmp_path / "p", Story("t", (Look("a", "", long, trend(long)),)))
    tree = page(tmp_path / "p", "looks/a.html")
    order = [
        element.get("id") or element.get("class")
        for element in tree.xpath("//h2[@id] | //nav[@class='years']")
    ]
    assert order == ["paths", "years", "line", "used"]
    years = tree.xpath("//nav[@class='years']/a/@href")
    assert len(years) == 3
    assert all(tree.xpath(f"//li[@id='{year[1:]}']") for year in years)


def test_versions_lead_to_their_neighbours(site: Path) -> None:
    """Before and after, and none beyond the ends."""
    assert page(site, "looks/tram-fog/1.html").xpath("//a[@rel]/@href") == ["../../looks/tram-fog/2.html"]
    assert [a.get("rel") for a in page(site, "looks/tram-fog/2.html").xpath("//a[@rel]")] == ["prev", "next"]


def test_the_front_page_tells_family_and_prints(site: Path) -> None:
    """Forks in words below what they came from; prints with the version that made them."""
    tree = page(site, "index.html")
    family = words(tree.xpath("//div[@class='family']")[0])
    assert "forked from tram-fog@2" in family
    assert "blended of quay-dusk@1 and tram-fog@4" in family
    (link,) = tree.xpath("//ul[@class='prints']//a")
    assert words(link) == "tram-fog@4"
    assert "Not measured yet, for want of a proof: quay-dusk." in words(tree)


def test_looks_that_nothing_came_of_are_one_sentence(tmp_path: Path) -> None:
    """Nine starter looks do not make nine family trees."""
    looks = tuple(Look(name, "", (version(f"{name}@1"),)) for name in ("iron-bell", "quiet-line"))
    front = build_page(tmp_path / "p", Story("t", looks))
    tree = html.document_fromstring(front.read_text())
    assert not tree.xpath("//div[@class='family']//li")
    assert "Still at the first version: iron-bell, quiet-line." in words(tree)


def test_pictures_have_words_sizes_and_come_when_needed(site: Path) -> None:
    """Every picture has alt text and its size, so the page does not jump; those in the field load lazily."""
    for path, tree in pages(site):
        for shown in tree.xpath("//img"):
            assert shown.get("alt") or shown.get("class") == "under", path  # the map over it has the words
            assert int(shown.get("width")) > 0
            assert int(shown.get("height")) > 0
    field = page(site, "looks/tram-fog.html").xpath("//li[contains(@class, 'stand')]//img/@loading")
    assert field == ["lazy"] * 3


def test_pages_can_be_read_without_seeing(site: Path) -> None:
    """Language, title, one main heading, landmarks, a way past the header; drawings have words."""
    for path, tree in pages(site):
        assert tree.get("lang") == "en", path
        assert tree.findtext(".//title")
        assert len(tree.xpath("//h1")) == 1
        assert len(tree.xpath("//main")) == 1
        assert tree.xpath("//a[@class='skip']/@href") == ["#main"]
        for drawing in tree.xpath("//svg"):
            assert drawing.get("aria-hidden") == "true" or drawing.get("aria-label")


@pytest.mark.parametrize("kind", ["light", "dark"])
def test_text_has_contrast(site: Path, kind: str) -> None:
    """Ink, quiet ink and the line's colour reach 4.5 to 1 against the paper (WCAG 2.2, 1.4.3)."""
    css = (site / "page.css").read_text()
    first, second = re.findall(r":root \{(.*?)\}", css, re.DOTALL)
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", first if kind == "light" else second))
    for name in ("ink", "quiet", "brass"):
        assert contrast(colours[name], colours["paper"]) >= 4.5, name
        assert contrast(colours[name], colours["slab"]) >= 4.5, name


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours (WCAG 2.2, definition of relative luminance)."""

    def luminance(colour: str) -> float:
        channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_hostile_names_and_notes_are_shown_as_text(tmp_path: Path) -> None:
    """HTML in any text stays text: no script, no handler, no element of its making, no file outside."""
    bad = version(
        f"{HOSTILE}@1", 0, reading(NIGHT), note=HOSTILE * 50, words=(HOSTILE,), kind="fork",
        parents=(HOSTILE,), pictures={NIGHT: picture(HOSTILE)}, text=lambda: HOSTILE,
    )  # fmt: skip
    proofs = (Proof(NIGHT, HOSTILE, picture(f"camera {HOSTILE}")),)
    front = build_page(tmp_path / "pages", Story(HOSTILE, (Look(HOSTILE, HOSTILE, (bad,)),), proofs))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["pages"]
    for path, tree in pages(front.parent):
        scripts = [s.get("src", "").rpartition("/")[2] for s in tree.xpath("//script[not(@type)]")]
        assert scripts in (["page.js"], ["page.js", "compare.js"]), path
        assert tree.xpath("//script/@type") in ([], ["application/json"])
        assert not tree.xpath("//@*[starts-with(name(), 'on')]")
        assert all(src.endswith((".jpg", ".svg")) for src in tree.xpath("//img/@src"))
        if path.name != "compare.html":
            assert "<script>alert(1)</script>" in tree.text_content()


def test_building_again_does_only_the_new_work(tmp_path: Path) -> None:
    """After one new version only pages that name it are written, and only its picture is loaded."""
    loads: list[str] = []

    def counted(ref: str, day: int, *parents: str) -> object:
        def load() -> bytes:
            loads.append(ref)
            return image()

        return version(ref, day, reading(NIGHT), parents=parents, pictures={NIGHT: picture(ref, load)})

    versions = [counted("tram-fog@1", 0), counted("tram-fog@2", 1, "tram-fog@1")]
    proofs = (Proof(NIGHT, "night", picture("camera night")),)
    build_page(tmp_path / "p", Story("t", (Look("tram-fog", "", tuple(versions)),), proofs))  # type: ignore[arg-type]
    before = {path: path.stat().st_mtime_ns for path in (tmp_path / "p").rglob("*") if path.is_file()}
    versions.append(counted("tram-fog@3", 2, "tram-fog@2"))
    build_page(tmp_path / "p", Story("t", (Look("tram-fog", "", tuple(versions)),), proofs))  # type: ignore[arg-type]
    touched = {path.name for path, time in before.items() if path.stat().st_mtime_ns != time}
    assert touched == {"index.html", "tram-fog.html", "tram-fog.js", "2.html", "sizes.json"}
    assert loads == ["tram-fog@1", "tram-fog@2", "tram-fog@3"]


def test_a_text_is_read_only_for_a_page_that_is_written(tmp_path: Path) -> None:
    """A version's text is asked for once, however often the pages are built; trouble with it is shown."""
    asked: list[int] = []

    def text() -> str:
        asked.append(1)
        raise LedgerError("ledger-broken", "its commit holds no such file")

    told = Story("t", (Look("a", "", (version("a@1", text=text),)),))
    build_page(tmp_path / "p", told)
    build_page(tmp_path / "p", told)
    assert asked == [1]
    assert not list((tmp_path / "p").rglob("*.toml"))
    assert "its commit holds no such file" in (tmp_path / "p/looks/a/1.html").read_text()


def test_progress_is_told_by_versions(tmp_path: Path) -> None:
    """One after another, up to all of them."""
    told: list[tuple[int, int]] = []
    build_page(tmp_path / "p", story(), progress=lambda done, all_of: told.append((done, all_of)))
    assert told == [(n, 6) for n in range(1, 7)]


def test_an_empty_history_is_a_page_too(tmp_path: Path) -> None:
    """A ledger without versions gives a front page that says so."""
    front = build_page(tmp_path / "p", Story("new looks"))
    assert "No look has been measured yet" in words(html.document_fromstring(front.read_text()))


def test_a_proof_that_is_not_in_the_story_is_named_by_its_fingerprint(tmp_path: Path) -> None:
    """Drift on a proof nobody has kept is still shown."""
    build_page(tmp_path / "p", Story("t", (Look("a", "", (version("a@1", 0, reading(FOG)),)),)))
    assert f"frame {FOG[:12]}" in words(page(tmp_path / "p", "looks/a/1.html"))
