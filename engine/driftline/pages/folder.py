"""The folder that pages are written to: what is already there is not made again.

    index.html, page.css, page.js     the front page, and what all pages share
    compare.html, compare.js          any two versions
    data/NAME.js                      the numbers of a look, for what a page shows when asked
    looks/NAME.html                   one look through time
    looks/NAME/LABEL.html             one version; carries a stamp of all that it was made from
    looks/NAME/NAME.LABEL.toml        its recipe file, as it was saved
    pictures/KEY.jpg, KEY.svg         named by what made them, so each is made once
    pictures/sizes.json               their sizes, so that none is opened again to know it; may be deleted
    .driftline-pages                  says that the folder is ours

Every file is written to a part file first and put in place whole. A folder that holds something else is
refused. All of it can be made again from the ledger.
"""

from __future__ import annotations

import hashlib
import html
import json
import os
import re
import secrets
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from typing import Any

from driftline.errors import DriftlineError, UsageError
from driftline.pages.story import Map, Marks, Picture

LARGEST_EDGE = 960
_MARK = ".driftline-pages"
_MARK_TEXT = "This folder is made by driftline and can be made again from the ledger.\n"
_HEAD = re.compile(
    r'<svg [^>]* width="(?P<width>\d+)" height="(?P<height>\d+)"><title>(?P<words>[^<]*)</title>'
)
_JPEG_END = b"\xff\xd9"
_SIZES = "pictures/sizes.json"
_PLAIN = re.compile(r"[a-z0-9][a-z0-9.-]{0,80}")


@dataclass(frozen=True)
class Shown:
    """A picture as a page shows it: where it lies below the folder and its size, or why it is not there."""

    address: str = ""
    width: int = 3
    height: int = 2
    alt: str = ""
    reason: str = ""


class PageFolder:
    """One folder of pages."""

    def __init__(self, root: Path) -> None:
        self.root = root
        pictures = root / "pictures"
        self._there = {entry.name for entry in os.scandir(pictures)} if pictures.is_dir() else set()
        self._sizes = _read_sizes(root / _SIZES)
        self._broken: dict[str, str] = {}

    def take(self) -> None:
        """Make the folder ours.

        Raises
        ------
        UsageError
            ``page-folder-taken`` if it is a file or holds something that is not ours;
            ``page-folder-unwritable`` with the system's own words.
        """
        taken = self.root.exists() and not (self.root / _MARK).exists()
        if taken and (not self.root.is_dir() or any(self.root.iterdir())):
            raise UsageError(
                "page-folder-taken",
                f"{self.root}: holds something that is not pages of a ledger; it was left alone",
                hint="an empty or new folder for --out",
            )
        try:
            (self.root / "pictures").mkdir(parents=True, exist_ok=True)
            self.write(_MARK, _MARK_TEXT)
        except OSError as error:
            raise UsageError(
                "page-folder-unwritable",
                f"{self.root}: {error.strerror or error}",
                hint="a folder that can be written to",
            ) from error

    def finish(self) -> None:
        """Note what a later build need not find out again."""
        kept = {name: size for name, size in sorted(self._sizes.items()) if name in self._there}
        self.write(_SIZES, json.dumps(kept, separators=(",", ":")))

    def write(self, name: str, text: str) -> None:
        """Write a file of the folder, whole or not at all; nothing happens when it says the same already."""
        path, content = self.root / name, text.encode("utf-8")
        if not (path.is_file() and path.read_bytes() == content):
            _write_whole(path, content)

    def has(self, name: str, stamp: str) -> bool:
        """Whether a page is there that was made from just this."""
        try:
            with (self.root / name).open("rb") as file:
                return stamp.encode() in file.read(400)
        except OSError:
            return False

    def show(self, picture: Picture | None, reason: str = "no picture was kept") -> Shown:
        """Have a picture in the folder, made now if it is not there yet; a broken one costs only itself."""
        if picture is None:
            return Shown(reason=reason)
        name = f"{_key_name(picture.key)}.jpg"
        if name not in self._broken and not (name in self._there and name in self._sizes):
            self._have(name, picture)
        if name in self._broken:
            return Shown(alt=picture.alt, reason=self._broken[name])
        return Shown(f"pictures/{name}", *self._sizes[name], picture.alt)

    def holds(self, pictures: Iterable[Picture], maps: Iterable[Map]) -> bool:
        """Whether all of these are there."""
        names = (
            *(f"{_key_name(picture.key)}.jpg" for picture in pictures),
            *(f"{_key_name(found.key)}.svg" for found in maps),
        )
        return self._there.issuperset(names)

    def map(self, found: Map, draw: Callable[[Marks], str]) -> Shown:
        """Have a difference map in the folder, drawn now if it is not there yet; its title is its words."""
        name = f"{_key_name(found.key)}.svg"
        try:
            if name not in self._there:
                self._put(name, draw(found.load()).encode())
            text = (self.root / "pictures" / name).read_text(encoding="utf-8")
        except DriftlineError as error:
            return Shown(reason=error.message)
        head = _HEAD.match(text)
        if head is None:
            return Shown(reason="the map cannot be shown: its file was changed")
        return Shown(
            f"pictures/{name}", int(head["width"]), int(head["height"]), html.unescape(head["words"])
        )

    def _have(self, name: str, picture: Picture) -> None:
        """Have a picture and its size, or the reason why it is not there."""
        from PIL import Image  # noqa: PLC0415  a page of words needs no pictures

        try:
            path = self.root / "pictures" / name
            content = path.read_bytes() if name in self._there else _small_and_bare(picture.load())
            with Image.open(BytesIO(content)) as image:
                self._sizes[name] = image.size
            if name not in self._there:
                self._put(name, content)
        except DriftlineError as error:
            self._broken[name] = error.message
        except (OSError, ValueError, Image.DecompressionBombError) as error:
            self._broken[name] = f"the picture cannot be shown: {error}"

    def _put(self, name: str, content: bytes) -> None:
        _write_whole(self.root / "pictures" / name, content)
        self._there.add(name)


def _key_name(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()[:32]


def _read_sizes(path: Path) -> dict[str, tuple[int, int]]:
    """The sizes that were noted; none if the note makes no sense."""
    try:
        noted = json.loads(path.read_text(encoding="utf-8"))
        return {str(name): (int(size[0]), int(size[1])) for name, size in noted.items()}
    except (OSError, ValueError, AttributeError, TypeError, IndexError):
        return {}


def page_name(text: str) -> str:
    """A file name for a recipe's or version's name: itself if it is plain, else with a digest for the rest.

    Examples
    --------
    >>> page_name("tram-fog"), page_name("8.laptop")
    ('tram-fog', '8.laptop')
    >>> page_name("../<b>").startswith("b-")
    True
    """
    if _PLAIN.fullmatch(text):
        return text
    plain = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:40]
    return f"{plain or 'name'}-{hashlib.sha256(text.encode('utf-8', 'replace')).hexdigest()[:10]}"


def _small_and_bare(content: bytes) -> bytes:
    """A picture as a page needs it: upright, no larger than :data:`LARGEST_EDGE`, sRGB or with its profile.

    Whatever else the file carried (place, serial numbers, maker's notes) is left behind.
    """
    from PIL import Image, ImageOps  # noqa: PLC0415

    with Image.open(BytesIO(content)) as image:
        if _is_small_and_bare(image) and content.endswith(_JPEG_END):
            return content
        profile = image.info.get("icc_profile") if image.mode == "RGB" else None
        upright = ImageOps.exif_transpose(image).convert("RGB")
    upright.thumbnail((LARGEST_EDGE, LARGEST_EDGE), Image.Resampling.LANCZOS)
    out = BytesIO()
    upright.save(out, "JPEG", quality=88, optimize=True, icc_profile=profile)
    return out.getvalue()


def _is_small_and_bare(image: Any) -> bool:
    """Whether a page can have a picture just as it is: a JPEG with nothing but its pixels and its profile."""
    segments = {name for name, _ in getattr(image, "applist", [("?", b"")])}
    fits = image.mode == "RGB" and max(image.size) <= LARGEST_EDGE
    return image.format == "JPEG" and fits and segments <= {"APP0", "APP2", "APP14"}


def _write_whole(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".part-{os.getpid()}-{secrets.token_hex(4)}")
    try:
        part.write_bytes(content)
        os.replace(part, path)
    finally:
        part.unlink(missing_ok=True)
