"""Writing the pages of a story."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from driftline import __version__
from driftline.errors import DriftlineError
from driftline.pages import compact, marking, paths, using, views, wording
from driftline.pages.folder import PageFolder, Shown
from driftline.pages.pedigree import family
from driftline.pages.story import Look, Marks, Proof, Story, Version

SHOOTS = 12
"""How many of the last shoots the front page tells of."""


def build_page(out: Path, story: Story, *, progress: Callable[[int, int], None] | None = None) -> Path:
    """Write a ledger's history as a folder of static pages.

    Everything lies below ``out`` and opens from disk: no network, no server. Building again after a new
    version makes that version's page and pictures and refreshes those that name it; a picture is made once.

    Parameters
    ----------
    out
        A new or empty folder, or one that was made by this function.
    story
        What to tell; see :func:`~driftline.pages.telling.story_of`.
    progress
        Told how many versions of how many are done.

    Returns
    -------
    Path
        The front page.

    Raises
    ------
    UsageError
        ``page-folder-taken``, ``page-folder-unwritable``.
    """
    folder = PageFolder(out)
    folder.take()
    for name in ("page.css", "page.js", "compare.js"):
        folder.write(name, _source(name))
    at = _Known(story, progress)
    for look in story.looks:
        _write_look(folder, story, look, at)
    folder.write("compare.html", _compare(story))
    folder.write("index.html", _front(folder, story))
    folder.finish()
    return out / "index.html"


def _front(folder: PageFolder, story: Story) -> str:
    last = [look.last for look in story.looks]
    waiting = [look for look in story.looks if look.last.distance is None]
    stands = views.standing_now(story, folder)
    named = {look.name for look in waiting} if stands else set()
    runs = family(story)
    return _render(
        "index.html",
        up="",
        story=story,
        reach=views.reach(last),
        stands=stands,
        waiting=waiting,
        branches=views.branches([run for run in runs if not views.is_single(run)]),
        single=views.branches(
            [run for run in runs if views.is_single(run) and run.first.recipe not in named]
        ),
        prints=views.made(story.prints, story, folder),
        used=using.used_by_all(story, SHOOTS),
        shoots_told=len(story.shoots),
    )


def _compare(story: Story) -> str:
    looks = [
        [look.name, compact.data_address(look.name), views.look_address(look.name)] for look in story.looks
    ]
    return _render("compare.html", up="", story=story, told={"looks": looks, **compact.rules()})


class _Known:
    """What is looked up for every version, found once."""

    def __init__(self, story: Story, progress: Callable[[int, int], None] | None) -> None:
        self._progress = progress
        self._done, self._all = 0, sum(len(look.versions) for look in story.looks)
        self.proofs = {proof.fingerprint: proof for proof in story.proofs}
        self._used = using.used_by_each(story)

    def used(self, version: Version) -> tuple[using.Used, ...]:
        """The shoots that a version was used on."""
        return self._used.get(version.ref, ())

    def told(self) -> None:
        """Say that one more version is done."""
        self._done += 1
        if self._progress is not None:
            self._progress(self._done, self._all)


def _write_look(folder: PageFolder, story: Story, look: Look, at: _Known) -> None:
    for place in range(len(look.versions)):
        _write_version(folder, story, look, place, at)
        at.told()
    text = _render(
        "look.html",
        up="../",
        story=story,
        look=look,
        summary=views.summary(look),
        reach=views.reach(look.versions),
        stands=views.stands(look.versions, story, folder),
        cameras=_cameras(folder, story, look),
        data=compact.data_address(look.name),
        paths=[*([way] if (way := paths.distance_path(look)) else []), *paths.paths(look.trend)],
        settling=paths.summary(look.trend),
        used=using.used_by_look(story, look),
        stretches=using.stretches(look.versions),
        long=len(look.versions) > using.LONG,
    )
    folder.write(views.look_address(look.name), text)
    folder.write(compact.data_address(look.name), compact.look_script(look, story, folder))


def _write_version(folder: PageFolder, story: Story, look: Look, place: int, at: _Known) -> None:
    version = look.versions[place]
    older = look.versions[place - 1] if place > 0 else None
    newer = look.versions[place + 1] if place + 1 < len(look.versions) else None
    address = views.version_address(version)
    used = at.used(version)
    cameras = [at.proofs[proof] for proof in version.pictures if proof in at.proofs]
    made_of = (story.title, version, cameras, used, story.unread, older and older.ref, newer and newer.ref)
    shown = [*version.pictures.values(), *(proof.camera for proof in cameras if proof.camera)]
    whole = folder.holds(shown, version.maps.values())
    if whole and folder.has(address, _stamp(made_of, ())):
        return
    pairs = views.pairs(version, story, folder, _draw)
    troubles = [
        found.reason for pair in pairs for found in (pair.camera, pair.edited, pair.map) if found.reason
    ]
    stamp = _stamp(made_of, tuple(troubles))
    if folder.has(address, stamp):
        return
    recipe_text, trouble = _text(version)
    if not trouble:
        folder.write(views.recipe_address(version), recipe_text)
    text = _render(
        "version.html",
        up="../../",
        stamp=stamp,
        story=story,
        look=look,
        version=version,
        pairs=pairs,
        reach=views.reach([version]),
        origin=wording.origin_words(version),
        day=wording.day(version.when),
        distance=wording.distance_words(version.distance),
        recipe_text=recipe_text,
        trouble=trouble,
        file=views.recipe_address(version),
        legend=marking.legend(),
        used=used,
        older=older,
        newer=newer,
    )
    folder.write(address, text)


def _cameras(folder: PageFolder, story: Story, look: Look) -> list[tuple[Proof, Shown, bool]]:
    """The camera renderings of a look's proofs; those that decide where it stands hang on the line."""
    deciding = {version.farthest.proof for version in look.versions if version.farthest is not None}
    return [
        (proof, folder.show(proof.camera, proof.reason), proof.fingerprint in deciding)
        for proof in compact.proofs_of(look, story)
    ]


def _text(version: Version) -> tuple[str, str]:
    """A version's text, or why it cannot be read."""
    try:
        return version.text(), ""
    except DriftlineError as error:
        return "", error.message


def _draw(marks: Marks) -> str:
    return _render("marks.svg", map=marking.drawn(marks))


def _stamp(*what: Any) -> str:
    """What a page was made from, as one digest; the templates are part of it."""
    return hashlib.sha256(repr((_templates_digest(), what)).encode("utf-8", "replace")).hexdigest()


def _render(name: str, **given: Any) -> str:
    return _templates().get_template(name).render(given)


@cache
def _templates() -> Environment:
    templates = Environment(
        loader=PackageLoader("driftline.pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    templates.globals["path_size"] = (paths.WIDTH, paths.HEIGHT)
    templates.globals["look_address"] = views.look_address
    templates.globals["version_address"] = views.version_address
    return templates


@cache
def _templates_digest() -> str:
    names = sorted(_templates().list_templates())
    return hashlib.sha256("".join([__version__, *map(_source, names)]).encode()).hexdigest()


def _source(name: str) -> str:
    return (Path(__file__).parent / "templates" / name).read_text(encoding="utf-8")
